"""Study: five ordinary paddle tails at the speeds they are fished at, beside what makers see.

The lures are those of the sanity brackets. How wide such tails sweep is common practice without a
source: a number outside is not a miss, but no verdict stands here without a word on the difference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simsoft.case.read import load
from simsoft.results.record import Record, select
from simsoft.validate.locate import checks_directory
from simsoft.validate.studies.brackets import FOLDER, lure_brackets, stem_alone
from simsoft.validate.studies.tools import ABSENT, only, solve_cases, table, table_number

MEASURES = (("flap_frequency", 1.0), ("stroke", 1e3), ("edge_to_edge", 1e3))
KICKS = "kicks"


@dataclass(frozen=True)
class SeenTail:
    """What one lure's tail does at one speed.

    Attributes
    ----------
    lure : str
    speed : float [m/s]
    verdict : str
    start, rate, stroke, edges : Record or None, with bands
    alone : float or None [m/s], start of the tail held where its stem begins
    practice : float [m], sweep from side to side that such tails are said to have
    """

    lure: str
    speed: float
    verdict: str
    start: Record | None
    rate: Record | None
    stroke: Record | None
    edges: Record | None
    alone: float | None
    practice: float

    @property
    def word(self) -> str:
        """Return how the sweep stands to practice."""
        if self.verdict != KICKS or self.edges is None or not isinstance(self.edges.value, float):
            return self._why_not()
        if _holds(self.edges, self.practice):
            return "practice lies in the band"
        ratio = self.practice / self.edges.value
        side = "narrower" if ratio > 1.0 else "wider"
        return f"{side} than practice by a factor of {max(ratio, 1.0 / ratio):.1f}, past the band"

    def _why_not(self) -> str:
        start = self.start
        if start is None or not isinstance(start.value, float):
            return "does not start; practice says it kicks"
        if start.value <= self.speed:
            return "starts below this speed, but strokes too little to be seen"
        reached = isinstance(start.low, float) and start.low <= self.speed
        reaches = "reaches" if reached else "does not reach"
        return f"starts at {start.value:.2g} m/s only; its band {reaches} down to this speed"


def study() -> list[SeenTail]:
    """Run the lures that state what makers see, with bands; slowest speed first."""
    folder = checks_directory() / FOLDER
    stated = {name: told for name, told in lure_brackets(folder).items() if "sweep" in told}
    cases = [
        only(load(folder / f"{name}.toml"), "retrieve", speeds=tuple(told["speeds"]), onset=True)
        for name, told in stated.items()
    ]
    found = solve_cases(cases, bands=True)
    stiff = solve_cases([stem_alone(case) for case in cases])
    return [
        _seen(name, speed, solved.records, alone.number("start_speed"), told["sweep"])
        for (name, told), solved, alone in zip(stated.items(), found, stiff, strict=True)
        for speed in told["speeds"]
    ]


def _holds(record: Record | None, value: float) -> bool:
    """Return whether a value lies in a record's band."""
    if record is None or not isinstance(record.low, float) or not isinstance(record.high, float):
        return False
    return record.low <= value <= record.high


def _seen(
    lure: str, speed: float, records: Sequence[Record], alone: float | None, practice: float
) -> SeenTail:
    def one(quantity: str, **at: float) -> Record | None:
        found = select(records, quantity, **at)
        return found[0] if found else None

    verdict = one("verdict", speed=speed)
    rate, stroke, edges = (one(quantity, speed=speed) for quantity, _ in MEASURES)
    word = ABSENT if verdict is None else str(verdict.value)
    return SeenTail(lure, speed, word, one("start_speed"), rate, stroke, edges, alone, practice)


def section(rows: Sequence[SeenTail]) -> str:
    """Return the study as Markdown."""
    head = ["lure", "speed [m/s]", "start, stem alone [m/s]", "start [m/s]", "", "rate [Hz]",
            "stroke [mm]", "edge to edge [mm]", "practice [mm]", "word"]  # fmt: skip
    cells = [_cells(row) for row in rows]
    kicking = [row for row in rows if row.verdict == KICKS]
    inside = sum(_holds(row.edges, row.practice) for row in kicking)
    as_stroke = sum(_holds(row.stroke, row.practice) for row in kicking)
    return (
        "## Five ordinary paddle tails beside practice\n\n"
        "Invented lures of ordinary sizes at the speeds they are fished at. What their soft bodies "
        "have behind the hook bends with the tail; held where the stem begins, the same tails "
        "start much later or not at all. No number was fitted to practice. "
        "The sweep from side to side that makers tell of is common practice, no source. "
        f"{len(kicking)} of {len(rows)} kick. Taken from edge to edge, practice lies in the band "
        f"of {inside} of these; taken as the stroke of the paddle's centre, of {as_stroke}. A "
        "paddle at rest covers its width already, so that the first count says less. The "
        "paddle's offset is not told by practice: a fifth of its height is taken.\n\n"
        f"{table(head, cells)}\n"
    )


def _cells(row: SeenTail) -> list[str]:
    measures = [
        _banded(record, scale)
        for record, (_, scale) in zip((row.rate, row.stroke, row.edges), MEASURES, strict=True)
    ]
    start, practice = _banded(row.start, 1.0), f"{1e3 * row.practice:g}"
    alone = table_number(row.alone, 2)
    return [row.lure, f"{row.speed:g}", alone, start, row.verdict, *measures, practice, row.word]


def _banded(record: Record | None, scale: float) -> str:
    if record is None or not isinstance(record.value, float):
        return ABSENT
    value = table_number(scale * record.value, 2)
    low, high = record.low, record.high
    if not isinstance(low, float):
        return value
    top = table_number(scale * high, 2) if isinstance(high, float) else "no end found"
    return f"{value} ({table_number(scale * low, 2)} to {top})"
