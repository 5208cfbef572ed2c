"""A run given what was seen of the bait in hand: numbers moved, bands narrowed, and by how much.

The bait in hand, as the file has it, is run as it was looked at. Its answer and those of the case
are lines of the same inputs (`rows`), so a look at one of them moves the others.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from simsoft.case.model import Case, Scenario, Seen
from simsoft.case.observed import GOES
from simsoft.case.read import bait_in_hand
from simsoft.core.errors import SolveError
from simsoft.core.quantities import words
from simsoft.engine.edge import WITH_BEAT
from simsoft.engine.rows import LogLinear, left_open, line_of, own_name
from simsoft.results.record import BY_LOOK, Record
from simsoft.results.result import Look, RunResult
from simsoft.solvers.conditioning import (
    EVEN,
    Known,
    Taken,
    blend,
    learn_side,
    learn_value,
    reaching,
)

Solve = Callable[[Case], RunResult]

KINDS = {"sink_rate": "sink", "cast_distance": "cast"}
ANSWERS = {"verdict": "start_speed"}  # which number answers a look
LEFT = 0.95  # of an input's doubt: less than this is told as narrowed
MOVING = (*GOES, "shivers")
CONTRADICTS = "contradicts what else was seen: one of the two is wrong"


@dataclass(frozen=True)
class Answered:
    """A look with the answer of the bait in hand.

    Attributes
    ----------
    look : Look
    line : LogLinear or None, that answer as a line of inputs
    case : Case, as it was looked at
    """

    look: Look
    line: LogLinear | None
    case: Case


def as_seen(case: Case, seen: Seen) -> Case | None:
    """Return the case as it was looked at, only what was asked; None where no scenario asks it."""
    kind = KINDS.get(seen.quantity, "retrieve")
    for scenario in case.scenarios:
        if scenario.kind != kind or scenario.free or seen.scenario not in (None, scenario.name):
            continue
        water = case.water
        if seen.temperature is not None:
            water = replace(water, temperature=seen.temperature)
        parts = case.parts
        if kind == "retrieve" and parts:
            name = parts[0].name if seen.part is None else seen.part.split("/")[0]
            parts = tuple(part for part in parts if part.name == name)
        asked = _asked(scenario, seen)
        return replace(case, water=water, parts=parts, scenarios=(asked,), seen=(), brief=())
    return None


def _asked(scenario: Scenario, seen: Seen) -> Scenario:
    """Return a scenario cut down to one look."""
    if scenario.kind != "retrieve":
        return replace(scenario, wanted_sink_rate=None, wanted_attitude=None)
    if seen.quantity in ("start_speed", "verdict"):
        return replace(scenario, onset=True, march=False)
    return replace(scenario, speeds=(float(seen.speed or 0.0),), march=True)


def answer_of(records: Sequence[Record], seen: Seen) -> Record | None:
    """Return the record that a look is about."""
    wanted = ANSWERS.get(seen.quantity, seen.quantity)
    found = [
        r
        for r in records
        if r.quantity == wanted
        and (seen.part is None or r.part == seen.part or r.part.startswith(f"{seen.part}/"))
        and "attitude" not in r.at
        and r.at.get("wind", 0.0) == 0.0
    ]
    return found[0] if found else None


def learned(case: Case, solve: Solve) -> tuple[Known, list[Answered]]:
    """Return what the looks of a case say about the inputs, and what became of every look.

    Parameters
    ----------
    case : Case, with ``seen``
    solve : function of a case that runs it with bands
    """
    hand = bait_in_hand(case)
    known = Known()
    found = []
    for seen in case.seen:
        known, answered = _learn(known, hand, seen, solve)
        found.append(answered)
    return known, found


def _learn(known: Known, hand: Case, seen: Seen, solve: Solve) -> tuple[Known, Answered]:
    part = seen.part or ""

    def refused(why: str, at: Case, record: Record | None = None) -> tuple[Known, Answered]:
        return known, Answered(Look(seen, part, "refused", None, why, record), None, at)

    asked = as_seen(hand, seen)
    if asked is None:
        return refused(f"no {KINDS.get(seen.quantity, 'retrieve')} of the case answers it", hand)
    try:
        result = solve(asked)
    except SolveError as error:
        return refused(str(error), asked)
    record = answer_of(result.records, seen)
    if record is None or record.value is None:
        why = "the run does not answer it" if record is None else record.reason or "no value"
        return refused(why, asked, record)
    line = line_of(record, result.moves, asked)
    if line is None:
        return refused("its number has no band to narrow", asked, record)
    after, taken, chance = _updated(known, line, seen)
    why = ""
    if taken == "refused" and known.names:
        alone, believed, _ = _updated(Known(), line, seen)
        if believed != "refused":
            after, taken, why = blend(after, alone, EVEN), "widened", CONTRADICTS
            if seen.value is not None:
                after = reaching(after, line.row, math.log(seen.value) - line.middle)
    if taken == "refused":
        why = "so far from what is computed that one of the two is wrong"
    look = Look(seen, record.part, taken, chance, why, record)
    return after, Answered(look, line, asked)


def _updated(known: Known, line: LogLinear, seen: Seen) -> tuple[Known, Taken, float]:
    """Return what is known after a look, how it was taken, and how likely such a look was."""
    doubt = math.log1p(seen.doubt)
    if seen.value is None:
        limit = math.log(max(float(seen.speed or 0.0), 1e-9)) - line.middle
        return learn_side(known, line.row, limit, doubt, below=seen.equals in GOES)
    return learn_value(known, line.row, math.log(seen.value) - line.middle, doubt)


def with_seen_band(known: Known, record: Record, line: LogLinear, change: float = 0.0) -> Record:
    """Return a record with the value and band that are left when inputs are known better.

    Parameters
    ----------
    known : Known
    record : Record
    line : LogLinear, of that record
    change : float, logarithm by which a look cannot vouch for it (see `left_open`)
    """
    width = math.hypot(math.sqrt(known.variance_of(line.row)), change)
    middle = line.middle + known.mean_of(line.row)
    tilt = line.tilt * min(1.0, width / line.width)
    low, high = (math.exp(middle + side * width) for side in (-1.0, 1.0))
    value = math.exp(middle + tilt * width)
    return replace(record, value=value, low=low, high=high, basis=f"{record.basis}; {BY_LOOK}")


def with_seen(result: RunResult, solve: Solve) -> RunResult:
    """Return a run given what was seen of the bait in hand.

    Parameters
    ----------
    result : RunResult, with bands, of a case with ``seen``
    solve : function of a case that runs it with bands
    """
    case = result.case
    known, answered = learned(case, solve)
    told = [_after(known, one) for one in answered]
    if not any(look.taken != "refused" for look in told):
        return replace(result, looks=tuple(told), warnings=(*result.warnings, *_warnings(told)))
    records = [_moved(record, known, answered, result) for record in result.records]
    narrowed = [
        (name, math.sqrt(max(0.0, float(known.covariance[i, i]))))
        for i, name in enumerate(known.names)
    ]
    return replace(
        result,
        records=_without_doubts(consistent(result.records, records), answered),
        looks=tuple(told),
        narrowed=tuple((name, left) for name, left in narrowed if left < LEFT),
        warnings=(*result.warnings, *_warnings(told)),
    )


def _after(known: Known, one: Answered) -> Look:
    before = one.look.before
    if one.line is None or before is None:
        return one.look
    return replace(one.look, after=with_seen_band(known, before, one.line))


def _moved(record: Record, known: Known, answered: Sequence[Answered], result: RunResult) -> Record:
    """Return one record of the case given the looks."""
    line = line_of(record, result.moves, result.case)
    if line is None or not set(line.row) & set(known.names):
        return record
    looked = [
        one
        for one in answered
        if one.line is not None
        and one.look.taken != "refused"
        and own_name(record.quantity, record.part) in one.line.row
    ]
    changes = [
        left_open(one.case, result.case, record.quantity, line.middle - one.line.middle)
        for one in looked
        if one.line is not None
    ]
    return with_seen_band(known, record, line, min(changes, default=0.0))


def _without_doubts(records: Sequence[Record], answered: Sequence[Answered]) -> tuple[Record, ...]:
    """Return records without those that name the input most in doubt before the looks."""
    looked = {ANSWERS.get(one.look.seen.quantity, one.look.seen.quantity) for one in answered}
    return tuple(r for r in records if r.quantity != "doubt" or r.at.get("of") not in looked)


def consistent(before: Sequence[Record], after: Sequence[Record]) -> list[Record]:
    """Return records whose verdicts do not contradict the start that the looks have moved."""
    starts = {
        (b.scenario, b.part): (float(b.value), float(a.value))
        for b, a in zip(before, after, strict=True)
        if b.quantity == "start_speed" and isinstance(b.value, float) and isinstance(a.value, float)
    }
    found = []
    for record in after:
        pair, speed = starts.get((record.scenario, record.part)), record.at.get("speed")
        if pair is None or not isinstance(speed, float) or record.at.get("state") == "rest":
            found.append(record)
        elif pair[0] <= speed < pair[1]:
            found.append(_still_yet(record))
        elif pair[1] <= speed < pair[0] and record.quantity == "verdict":
            found.append(_goes_already(record))
        else:
            found.append(record)
    return found


def _still_yet(record: Record) -> Record:
    if record.quantity == "verdict" and record.value in MOVING:
        return replace(record, value="still", basis=f"{record.basis}; {BY_LOOK}")
    if record.quantity in WITH_BEAT and record.value is not None:
        why = f"below the start speed, {BY_LOOK}"
        return replace(record, value=None, low=None, high=None, reason=why)
    return record


def _goes_already(record: Record) -> Record:
    if record.value in ("still", "shivers"):
        return replace(record, value="kicks", basis=f"{record.basis}; {BY_LOOK}")
    return record


def _warnings(looks: Sequence[Look]) -> list[str]:
    """Return a warning for every look that was not taken as it stands."""
    told = []
    for look in looks:
        name = words(look.seen.quantity)
        if look.taken == "refused":
            told.append(f"the {name} seen is left out: {look.reason}")
        elif look.taken == "widened":
            why = look.reason or "is far from what is computed: one of the two may be wrong"
            told.append(f"the {name} seen {why}; the band is widened")
    return told
