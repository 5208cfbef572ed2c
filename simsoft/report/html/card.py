"""The pocket card: the crank for a speed, the beat at it, seconds to a depth, casts by wind."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path

from simsoft.core.files import write_text
from simsoft.report.html.charts import numbers
from simsoft.report.html.document import document, footer, grid, page_section
from simsoft.report.html.markup import Html, joined, tag
from simsoft.report.html.moves import cast_tables
from simsoft.report.text.sentences import answer_groups, name_of
from simsoft.report.units import (
    FOOT,
    LengthUnit,
    band_numbers,
    crank_turns,
    rounded,
    user_unit,
)
from simsoft.results.hdf5_reader import Stored
from simsoft.results.record import Record, select, why_untrusted

FILE = "card.html"


def retrieve_of(spool: float, ratio: float) -> float:
    """Return what a reel takes up in a turn of its crank [m], its spool full.

    Parameters
    ----------
    spool : float [m], diameter over the line
    ratio : float, turns of the spool in a turn of the crank
    """
    return math.pi * spool * ratio


def write_card(stored: Stored, turn: float, directory: str | Path) -> Path:
    """Write the card of a run into its directory.

    Parameters
    ----------
    stored : Stored
    turn : float [m], line taken up in a turn of the crank
    directory : path of an existing directory

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    return write_text(Path(directory) / FILE, card_page(stored, turn))


def card_page(stored: Stored, turn: float) -> str:
    """Return the card of a run as HTML; parameters are those of ``write_card``."""
    result = stored.result
    unit = result.case.length_unit
    casts = cast_tables(result)
    sections = [
        *_retrieves(stored, turn),
        *_depths(stored),
        *([page_section("cast", "Casts", casts)] if casts else []),
    ]
    if not sections:
        sections = [page_section("none", "Nothing to carry", tag("p", "no retrieve, fall or cast"))]
    taken = rounded(turn / FOOT, 2) + " ft" if unit == "inch" else rounded(turn, 2) + " m"
    standing = (
        f"The reel takes up {taken} a turn with a full spool; less as line goes out. "
        "Numbers in brackets hold about two times in three."
    )
    title = f"{result.case.title}: pocket card"
    return document(title, joined(title), standing, sections, footer(stored))


def speed_words(speed: float, unit: LengthUnit) -> str:
    """Return a speed [m/s] in the user's unit, feet a second for inches."""
    return f"{speed / FOOT:.2g} ft/s" if unit == "inch" else f"{speed:.2g} m/s"


def crank_words(speed: float, turn: float) -> str:
    """Return a speed [m/s] as turns of the crank in ten seconds."""
    return rounded(crank_turns(speed, turn), 1)


def _retrieves(stored: Stored, turn: float) -> Iterator[Html]:
    """Yield the table of every part that beats in a retrieve: crank, speed, beat, what it does."""
    unit = stored.result.case.length_unit
    for place, group in enumerate(answer_groups(stored.result)):
        verdicts = {float(r.at["speed"]): str(r.value) for r in _told(group.records, "verdict")}
        rates = {float(r.at["speed"]): r for r in numbers(group.records, "flap_frequency")}
        sweeps = {float(r.at["speed"]): r for r in numbers(group.records, "edge_to_edge")}
        rows = [
            (speed, rates.get(speed), sweeps.get(speed), verdicts[speed])
            for speed in sorted(verdicts)
            if speed > 0.0
        ]
        starts = [r for r in select(group.records, "start_speed") if why_untrusted(r) is None]
        if rows and starts and isinstance(starts[0].value, float):
            beat = select(group.records, "start_frequency")
            known = beat[0] if beat and isinstance(beat[0].value, float) else None
            rows.append((starts[0].value, known, None, "the start"))
        if rows:
            title = f"{name_of(group.names)}, {group.scenario}"
            table = _crank_table(rows, turn, unit)
            yield page_section(f"crank-{place}", title, tag("p", group.lead), table)


def _crank_table(
    rows: Sequence[tuple[float, Record | None, Record | None, str]], turn: float, unit: LengthUnit
) -> Html:
    """Return the table of speed [m/s], rate, sweep and what it does."""
    widest = max((s.value for _, _, s, _ in rows if s and isinstance(s.value, float)), default=None)
    head = ["turns in 10 s", "speed", "beats a second"]
    head += [] if widest is None else [f"edges sweep [{user_unit('m', unit, widest)[1]}]"]
    cells = []
    for speed, rate, sweep, does in rows:
        row = [crank_words(speed, turn), speed_words(speed, unit)]
        row.append("-" if rate is None else band_numbers(rate, unit)[0])
        if widest is not None:
            row.append("-" if sweep is None else band_numbers(sweep, unit, widest)[0])
        cells.append([*row, does])
    return grid([*head, "what it does"], cells, broken=True)


def _told(records: tuple[Record, ...], quantity: str) -> list[Record]:
    found = select(records, quantity)
    return [r for r in found if r.value is not None and set(r.at) == {"speed"}]


def _depths(stored: Stored) -> Iterator[Html]:
    """Yield the table of seconds to a depth of every fall."""
    unit = stored.result.case.length_unit
    records = [r for r in select(stored.result.records, "time_to_depth") if r.value is not None]
    for place, scenario in enumerate(dict.fromkeys(r.scenario for r in records)):
        rows = [
            [_depth(float(r.at["depth"]), unit), band_numbers(r, unit)[0]]
            for r in records
            if r.scenario == scenario
        ]
        table = grid(("depth", "seconds"), rows)
        yield page_section(f"depth-{place}", f"Count down, {scenario}", table)


def _depth(depth: float, unit: LengthUnit) -> str:
    return f"{depth / FOOT:.2g} ft" if unit == "inch" else f"{depth:g} m"
