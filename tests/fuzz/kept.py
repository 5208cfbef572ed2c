"""Locked predictions and shops' profiles, and seeded ways to spoil them."""

from __future__ import annotations

import json
import random
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import outcomes
from mutations import INVISIBLE, ODD_NUMBERS

import cases
from simsoft.aquarium.compare import compare_numbers, prediction_of
from simsoft.aquarium.files.lock import _own_hash, lock_text, locked_before, read_lock
from simsoft.aquarium.measured import Measured
from simsoft.case.read import load
from simsoft.case.starter import starter
from simsoft.report.text.tank import compared_json, compared_page
from simsoft.results.record import Record, missing

DAY = datetime(2026, 5, 1, 9, 30, tzinfo=UTC)
RECORDS = (
    Record("stream", "tail", "flap_frequency", 5.0, 4.0, 6.0, "Hz", "rod", {"speed": 0.4}),
    Record("stream", "tail", "stroke", 0.018, 0.012, 0.03, "m", "rod", {"speed": 0.4}),
    Record("stream", "tail", "verdict", "kicks", None, None, "", "rod", {"speed": 0.4}),
    Record("stream", "tail", "tip_position", (0.1, 0.0, 0.0), None, None, "m", "rod", {}),
    missing("stream", "tail", "start_speed", "m/s", "rod", "it never starts"),
    Record("", "", "youngs_modulus", 1.4e5, 1.1e5, 1.8e5, "Pa", "shore", {"frequency": 5.0}),
)
SEEN = tuple(
    Measured(quantity, value, 0.1 * value, unit, "sine", 12, at, run="a")
    for quantity, value, unit, at in (
        ("flap_frequency", 5.2, "Hz", {"speed": 0.4, "date": "2026-05-02"}),
        ("stroke", 0.02, "m", {"speed": 0.4}),
        ("start_speed", 0.3, "m/s", {}),
        ("youngs_modulus", 1.5e5, "Pa", {"frequency": 5.0}),
    )
)
ODD: tuple[Any, ...] = (
    None, True, 0, -1, 1e308, 5e-324, 10**400, "", "kicks", [], {}, [1, [2]], {"a": {"b": 1}},
    float("nan"), float("inf"), "\u202e", "\x1b[2J", "<b>", "=1+1", "a" * 5000, "2026-13-45",
)  # fmt: skip

PROFILE = """title = "shop"
made = "2026-05-01T09:30:00+00:00"
simsoft = "0.1.0"
note = "bench of May"

[values.youngs_modulus]
value = "140 kPa"
low = "120 kPa"
high = "165 kPa"
frequency = "5 Hz"
temperature = "20 degC"
basis = "bent strips"

[values.loss_factor]
value = 0.15
low = 0.10
high = 0.20

[values.density]
value = "1010 kg/m^3"
low = "990 kg/m^3"
high = "1030 kg/m^3"

[values.temperature_slope]
value = "0.02 1/K"
low = "0.015 1/K"
high = "0.03 1/K"

[values.thickness_bias]
value = "0.1 mm"
low = "-0.05 mm"
high = "0.25 mm"

[values.normal_drag]
value = 1.9
low = 1.5
high = 2.3

[[sources]]
file = "weigh.csv"
sha256 = "00"
"""


def _places(value: Any, here: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [here] if here else []
    items = value.items() if isinstance(value, dict) else ()
    items = enumerate(value) if isinstance(value, list) else items
    for key, item in items:
        found += _places(item, (*here, key))
    return found


def _change(rng: random.Random, body: dict[str, Any]) -> None:
    """Change, drop, rename or double one place of a JSON object."""
    *way, last = rng.choice(_places(body))
    holder: Any = body
    for step in way:
        holder = holder[step]
    how = rng.randrange(6)
    if how == 0:
        del holder[last]
    elif how == 1 and isinstance(holder, dict):
        holder[str(last) + rng.choice(("s", "\u200b", "\n"))] = holder.pop(last)
    elif how == 2 and isinstance(holder[last], str):
        place = rng.randrange(len(holder[last]) + 1)
        holder[last] = holder[last][:place] + rng.choice(INVISIBLE) + holder[last][place:]
    elif how == 3 and isinstance(holder, list):
        holder.insert(0, holder[last])
    else:
        holder[last] = rng.choice(ODD)


def lock(seed: int) -> bytes:
    """Return the bytes of a spoilt lock, its hash mostly put right again."""
    rng = random.Random(f"lock/{seed}")
    text = lock_text("tail", "x = 1\n", "0.1.0", RECORDS, DAY)
    body = json.loads(text)
    if rng.random() < 0.85:
        for _ in range(rng.choice((1, 1, 2, 4))):
            _change(rng, body)
        if rng.random() < 0.85:
            try:
                body["sha256"] = _own_hash(body)
            except ValueError:  # not finite: the reader has to say so
                body["sha256"] = "0" * 64
        text = json.dumps(body, indent=rng.choice((None, 1)))
    data = text.encode("utf-8", "surrogatepass")
    how = rng.randrange(12)
    if how == 0:
        data = data[: rng.randrange(len(data))]
    elif how == 1:
        place = rng.randrange(len(data))
        data = data[:place] + bytes([rng.randrange(256)]) + data[place + 1 :]
    elif how == 2:
        data = b"[" * rng.choice((10, 100_000)) + data
    elif how == 3:
        data = rng.choice((b"", b"null", b"[]", b"{}", b"\xff\xfe", b"\x00" * 9))
    return data


def of_lock(path: Path, _: Path) -> tuple[str, str]:
    """Return what becomes of a lock: read, and compared with measurements."""

    def use() -> str:
        found = read_lock(path)
        pairs = [compare_numbers(m, prediction_of(m, found.records)) for m in SEEN]
        known = f"{found.made.isoformat()} {found.own_hash} {found.version}"
        locked_before(found, "2026-05-02")
        json.loads(compared_json("0", found.title, pairs, known))
        page = compared_page(pairs, found.title, "mm", known)
        return "read" if page.replace("\n", "").isprintable() else "unprintable"

    return outcomes.judged(use)


def profile(seed: int) -> bytes:
    """Return the bytes of a spoilt profile."""
    rng = random.Random(f"profile/{seed}")
    text = PROFILE
    for _ in range(rng.choice((1, 1, 2, 3, 6))):
        text = cases.spoilt(rng, text)
    data = text.encode("utf-8", "surrogatepass")
    if rng.randrange(20) == 0:
        place = rng.randrange(len(data))
        data = data[:place] + bytes([rng.randrange(256)]) + data[place + 1 :]
    elif rng.randrange(20) == 0:
        number = rng.choice(ODD_NUMBERS).encode()
        data = data.replace(rng.choice((b"1.9", b"0.15", b"2.3")), number)
    return data


def of_profile(path: Path, folder: Path) -> tuple[str, str]:
    """Return what becomes of a profile that a case names."""
    case = folder / "named.toml"
    case.write_text(f'profile = "{path.name}"\n{starter("paddle-tail")}', encoding="utf-8")

    def use() -> str:
        found = load(case)
        shown = found.profile
        said = [] if shown is None else [shown.title, *(v.basis for v in shown.values.values())]
        plain = all(line.isprintable() for line in (*said, *found.warnings))
        return "read" if plain else "unprintable"

    return outcomes.judged(use)
