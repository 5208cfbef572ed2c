"""Why a paddle does not kick at the speeds it is asked at, and what wakes it, proved by marches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from simsoft.case.model import Case, PaddleInput, Scenario
from simsoft.core.errors import SimsoftError
from simsoft.design.levers import HUNG, THICK, MovedKey, Tried, paddle_levers, with_paddle
from simsoft.design.sweep.table import WATER
from simsoft.lure.parts import Strip, assemble, values_of
from simsoft.results.record import Record, select
from simsoft.scenarios.question import solve
from simsoft.scenarios.retrieve.marcher import Detail

KICKS = "kicks"
TUMBLES = "tumbles / curls up"
# Below these a paddle is called centred, thin or shaded: shares of its height, of its height again
# and of the stream (judgement, after the offsets and thicknesses of validation/RESOLVED.md).
CENTRED, THIN, SHADED = 0.15, 0.13, 0.85
ORDINARY_OFFSET, ORDINARY_THICKNESS = HUNG[1], THICK[1]
TOGETHER = ("paddle_offset", "paddle_thickness", "thickness", "material")  # in this order,
ROUNDS = (0.5, 1.0)  # half as far as is tried, then all the way
LATER = 1.05  # times a start without it: a reason that costs less is none
# Small motions alone, on a coarse rod; what they find is proved by a march on the standard mesh.
QUICK = Detail(elements=8, pictures=False, careful=False)
MARCHED = Detail(pictures=False)


@dataclass(frozen=True)
class Reason:
    """What keeps a paddle from starting sooner.

    Attributes
    ----------
    word : str, 'centred', 'thin' or 'shaded'
    share : float [-], of the stream that is left to it; of the height for the other two
    ordinary : float [m], what was tried in its place; zero for 'shaded'
    start : float or None [m/s], with that
    """

    word: str
    share: float
    ordinary: float
    start: float | None


@dataclass(frozen=True)
class Waking:
    """Changes that together make a paddle kick.

    Attributes
    ----------
    changes : tuple of MovedKey
    start : float [m/s]
    stroke : float [m], of the march that proves it
    """

    changes: tuple[MovedKey, ...]
    start: float
    stroke: float


@dataclass(frozen=True)
class Asleep:
    """A paddle that kicks at no speed it was asked at.

    Attributes
    ----------
    part : str
    speed : float [m/s], the fastest it was asked at
    start : float or None [m/s], as it is
    reasons : tuple of Reason
    alone : tuple of Waking, the smallest change of every key that does it alone
    together : Waking or None, changes that do it together where none does alone
    """

    part: str
    speed: float
    start: float | None
    reasons: tuple[Reason, ...]
    alone: tuple[Waking, ...]
    together: Waking | None


def asleep(case: Case, records: Sequence[Record]) -> list[Asleep]:
    """Return the stiff paddles of a run that kick at no speed, why, and what would wake each.

    Parameters
    ----------
    case : Case
    records : of its run
    """
    found = []
    strips = assemble(case).strips if any(p.paddle for p in case.parts) else ()
    for strip in strips:
        held = [s for s in case.scenarios if s.kind == "retrieve" and not s.free and s.speeds]
        asked = max(held, key=lambda s: max(s.speeds), default=None)
        paddle = strip.part.paddle
        if paddle is None or asked is None or not strip.swings_stiff:
            continue
        mine = [r for r in records if r.part == strip.name and WATER not in r.at]
        if _kicks(mine, max(asked.speeds)):
            continue
        found.append(_Trial(case, strip.name, asked).told(strip, paddle))
    return found


def _kicks(records: Sequence[Record], fastest: float) -> bool:
    """Return whether a part kicks or folds past help, or nothing is known of it.

    Where no march was asked, a start at or below the fastest speed [m/s] counts as a kick.
    """
    words = {r.value for r in select(records, "verdict")} - {None}
    if words:
        return bool(words & {KICKS, TUMBLES})
    starts = [r.value for r in select(records, "start_speed")]
    return not starts or any(isinstance(s, float) and s <= fastest for s in starts)


class _Trial:
    """Starts and marches of one part of a case in one scenario, at its fastest speed."""

    def __init__(self, case: Case, name: str, scenario: Scenario) -> None:
        self.case, self.name = case, name
        self.speed = max(scenario.speeds)
        self.searched = replace(scenario, onset=True, march=False)
        self.marched = replace(scenario, onset=False, march=True, speeds=(self.speed,))

    def told(self, strip: Strip, paddle: PaddleInput) -> Asleep:
        """Return why it sleeps and what wakes it."""
        start, name = self.start(self.case), self.name.split("/")[0]
        reasons = tuple(r for r in self._reasons(strip, paddle, name) if _counts(r, start))
        rows = paddle_levers(self.case, name)
        alone = tuple(w for w in (self._first(row) for row in rows) if w is not None)
        together = None if alone else self._together(name)
        return Asleep(self.name, self.speed, start, reasons, alone, together)

    def start(self, case: Case, **inputs: float) -> float | None:
        """Return the start [m/s] by small motions, None where there is none."""
        try:
            lure = assemble(case)
            strip = next(strip for strip in lure.strips if strip.name == self.name)
            values = values_of(strip) | inputs
            found = solve(strip, lure.water, values, self.searched, QUICK)
        except SimsoftError:
            return None
        value = found.answers["start_speed", ()].value
        return value if isinstance(value, float) else None

    def _reasons(self, strip: Strip, paddle: PaddleInput, name: str) -> Iterator[Reason]:
        case, height = self.case, paddle.height
        if abs(paddle.offset) < CENTRED * height:
            hung = ORDINARY_OFFSET * height
            start = self.start(with_paddle(case, name, offset=hung))
            yield Reason("centred", paddle.offset / height, hung, start)
        if paddle.thickness < THIN * height:
            thick = ORDINARY_THICKNESS * height
            start = self.start(with_paddle(case, name, thickness=thick))
            yield Reason("thin", paddle.thickness / height, thick, start)
        shade = strip.inputs.get("shading")
        if shade is not None and shade.value < SHADED:
            yield Reason("shaded", shade.value, 0.0, self.start(case, shading=1.0))

    def _first(self, row: Sequence[Tried]) -> Waking | None:
        """Return the first change in turn that starts in time and kicks when marched."""
        for change, moved in row:
            proved = self._proved((change,), moved)
            if proved is not None:
                return proved
        return None

    def _proved(self, changes: tuple[MovedKey, ...], case: Case) -> Waking | None:
        start = self.start(case)
        if start is None or start > self.speed:
            return None
        try:
            lure = assemble(case)
            strip = next(strip for strip in lure.strips if strip.name == self.name)
            found = solve(strip, lure.water, values_of(strip), self.marched, MARCHED).answers
        except SimsoftError:
            return None
        at = (("speed", self.speed),)
        stroke = found["stroke", at].value if ("stroke", at) in found else None
        if found["verdict", at].value != KICKS or not isinstance(stroke, float):
            return None
        return Waking(changes, start, stroke)

    def _together(self, name: str) -> Waking | None:
        """Return keys moved one after the other, then farther, until the paddle kicks."""
        case, changes = self.case, dict[str, MovedKey]()
        for share, key in product(ROUNDS, TOGETHER):
            row = next((r for r in paddle_levers(case, name) if _is(r[0][0].key, key, name)), None)
            if row is None:
                continue
            change, case = row[int(share * (len(row) - 1))]
            changes[change.key] = change
            proved = self._proved(tuple(changes.values()), case)
            if proved is not None:
                return proved
        return None


def _is(key: str, word: str, name: str) -> bool:
    return key == f"parts.{name}.{word}" or key.split(".")[0] == word


def _counts(reason: Reason, start: float | None) -> bool:
    """Return whether a reason makes a start later, or is one of several that leave none."""
    if reason.start is None or start is None:
        return start is None
    return start > LATER * reason.start
