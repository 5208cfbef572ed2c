"""One turned bit in a file of every kind: refused, made again or the same; never a crash."""

from __future__ import annotations

import io
import json
import random
import subprocess
import sys
import warnings
from collections import Counter
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import inject
import sweeps

from simsoft.cli.main import main
from simsoft.core.errors import DamageWarning, InputError

TOY = """
from simsoft.core.compiled import kernel

@kernel()
def toy(x):
    return 3.0 * x + 1.0

print(toy(2.0))
"""


def _said(use: Callable[[], object]) -> tuple[int, str]:
    """Return exit status and what a command said on stderr."""
    err = io.StringIO()
    with redirect_stdout(io.StringIO()), redirect_stderr(err), warnings.catch_warnings():
        warnings.simplefilter("always", DamageWarning)
        try:
            use()
        except SystemExit as end:
            return int(end.code or 0), err.getvalue()
    return 0, err.getvalue()


def of_sweep_file(folder: Path, name: str, bits: int, seed: int) -> Counter[str]:
    """Return the counts of a sweep started again over its damaged file."""
    case, whole = sweeps.warmed("fast", folder)
    out = folder / "out"
    use = sweeps.sweep("fast", case, out)
    _said(use)
    kept = {path.name: path.read_bytes() for path in out.iterdir() if path.is_file()}
    found: Counter[str] = Counter()
    for bit in random.Random(f"{name}/{seed}").sample(range(8 * len(kept[name])), bits):
        for path in out.iterdir():
            path.unlink()
        for other, data in kept.items():
            if name != "rows.sqlite" or other not in sweeps.FILES:
                (out / other).write_bytes(data)
        (out / name).write_bytes(inject.flipped(kept[name], bit))
        status, said = _said(use)
        if status != 0 or "Traceback" in said or sweeps.written(out) != whole:
            found["wrong"] += 1
            print(f"{name} bit {bit}: {status} {said}")
        else:
            found["named, made again" if "damaged" in said else "same content"] += 1
    return found


def of_results(folder: Path, bits: int, seed: int) -> Counter[str]:
    """Return the counts of a report asked from a damaged results.h5."""
    case = folder / "case.toml"
    case.write_text(sweeps.CASE)
    out = folder / "out"
    _said(lambda: main(["run", str(case), "--quiet", "--out", str(out)]))
    path = out / "results.h5"
    whole = path.read_bytes()
    found: Counter[str] = Counter()
    for bit in random.Random(f"results/{seed}").sample(range(8 * len(whole)), bits):
        path.write_bytes(inject.flipped(whole, bit))
        status, said = _said(lambda: main(["report", str(out), "--quiet"]))
        lines = said.strip().splitlines()
        if status == 0:
            found["same content"] += 1
        elif status == 2 and len(lines) == 1 and "defect" not in said:
            found["refused in one line"] += 1
        else:
            found["wrong"] += 1
            print(f"results.h5 bit {bit}: {status} {said}")
    return found


def of_lock(folder: Path, bits: int, seed: int) -> Counter[str]:
    """Return the counts of a damaged lock."""
    from simsoft.aquarium.files.lock import read_lock

    sys.path.insert(0, str(Path(__file__).parents[1] / "fuzz"))
    import kept

    path = folder / "tail.lock.json"
    from simsoft.aquarium.files.lock import lock_text

    whole = lock_text("tail", "x = 1\n", "0.1.0", kept.RECORDS, kept.DAY).encode()
    path.write_bytes(whole)
    true = read_lock(path)
    found: Counter[str] = Counter()
    for bit in random.Random(f"lock/{seed}").sample(range(8 * len(whole)), bits):
        path.write_bytes(inject.flipped(whole, bit))
        try:
            found["same content" if read_lock(path) == true else "wrong"] += 1
        except InputError:
            found["refused in one line"] += 1
    return found


def of_text(kind: str, folder: Path, bits: int, seed: int) -> Counter[str]:
    """Return the counts of a case, a measurement or a profile, which carry no checksum."""
    sys.path.insert(0, str(Path(__file__).parents[1] / "fuzz"))
    import kept
    import kinds
    import mutations

    from simsoft.case.starter import starter

    texts = {"case": starter("paddle-tail"), "profile": kept.PROFILE, **mutations.SEEDS}
    whole = texts[kind].encode()
    path = folder / kinds.KINDS[kind].name
    found: Counter[str] = Counter()
    for bit in random.Random(f"{kind}/{seed}").sample(range(8 * len(whole)), bits):
        path.write_bytes(inject.flipped(whole, bit))
        outcome, said = kinds.KINDS[kind].use(path, folder)
        fine = {"measured": "read as written", "read": "read as written"}
        found[fine.get(outcome, "refused in one line" if outcome == "refused" else "wrong")] += 1
        if outcome not in (*fine, "refused"):
            print(f"{kind} bit {bit}: {said}")
    return found


def of_compiled(folder: Path, bits: int, seed: int) -> Counter[str]:
    """Return the counts of damaged entries of the compile cache."""
    import os

    script = folder / "toy.py"
    script.write_text(TOY)
    environment = {**os.environ, "SIMSOFT_CACHE": str(folder / "cache")}

    def call() -> str:
        words = [sys.executable, str(script)]
        answer = subprocess.run(words, env=environment, capture_output=True, text=True, check=False)
        return (answer.stdout + answer.stderr).strip()

    call()
    moments = random.Random(f"compiled/{seed}")
    found: Counter[str] = Counter()
    for _ in range(bits):
        entries = sorted(p for p in (folder / "cache").rglob("toy*") if p.is_file())
        path = moments.choice(entries)
        data = path.read_bytes()
        path.write_bytes(inject.flipped(data, moments.randrange(8 * len(data))))
        found["compiled again, same answer" if call() == "7.0" else "wrong"] += 1
    return found


def of_list(folder: Path, bits: int, seed: int) -> Counter[str]:
    """Return the counts of a damaged list of a folder's results: no file may go that should not."""
    from simsoft.report.folder import LIST, replace_earlier

    found: Counter[str] = Counter()
    own, other = folder / "records.csv", folder / "mine.txt"
    own.write_text("a\n")
    other.write_text("b\n")
    replace_earlier(folder, [own])
    whole = (folder / LIST).read_bytes()
    for bit in random.Random(f"list/{seed}").choices(range(8 * len(whole)), k=bits):
        (folder / LIST).write_bytes(inject.flipped(whole, bit))
        gone = replace_earlier(folder, [own])
        sound = json.loads((folder / LIST).read_bytes()) == json.loads(whole)
        found["same content" if sound and not gone and other.exists() else "wrong"] += 1
    return found
