"""The brief judged: every clause against the records, with margin and the number behind it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from simsoft.case.model import Case
from simsoft.case.wishes import BETTER, Clause
from simsoft.design.sweep.runs import CLEARS, FOULS, WEIGHED, own_water, same, scenarios_of
from simsoft.results.record import BY_LOOK, ON_SOFT_BODY, UNTRUSTED, Record, why_untrusted

UNPROVEN = (
    "inside with its whole band, but no measurement stands behind so long a stem: look once at a "
    "bait ([[seen]])"
)
GO, MARGINAL, NO_GO, OPEN = "go", "marginal", "no-go", "not answered"
MEETS, MISSES = "meets", "misses"  # of a number without its band
SO_FAR = "so far"
ORDER = {GO: 0, MEETS: 0, MARGINAL: 1, MISSES: 2, NO_GO: 3, OPEN: 4}
UNKNOWN_BAND = 0.5  # relative half band taken to compare designs where no band is known
NEVER = -1e9  # margin, in half bands, of a clause without a value
# Records that tell the same number apart; a clause takes them only where it asks for them.
DETAILS = ("attitude", "spot", "during")
# What a clause means where it says no more and the run has it: the first mode in water, still air.
MEANT: dict[str, dict[str, float | int | str]] = {
    "natural_frequency": {"medium": "water", "mode": 1},
    "damping_ratio": {"medium": "water", "mode": 1},
    "cast_distance": {"wind": 0.0},
}

Bands = Mapping[str, tuple[float, float]]


@dataclass(frozen=True)
class Finding:
    """A clause judged.

    Attributes
    ----------
    clause : Clause
    verdict : str, 'go', 'marginal', 'no-go'; 'meets' or 'misses' for a number without its
        band; 'not answered' where the run holds no such record
    margin : float or None [unit of the clause], how far inside the limit, negative outside
    bands : float, the same in half widths of the band towards the limit; outside by factors, so
        that a number far beyond its limit is told from one that is farther
    record : Record or None, the number behind it
    reason : str
    """

    clause: Clause
    verdict: str
    margin: float | None
    bands: float
    record: Record | None
    reason: str = ""


def matching(clause: Clause, case: Case, records: Sequence[Record]) -> list[Record]:
    """Return the records a clause is about."""
    places = {s.name for s in scenarios_of(clause, case)} or {""}
    whole = clause.quantity in WEIGHED and clause.part is None
    found = []
    for record in records:
        if record.quantity != clause.quantity or record.scenario not in places:
            continue
        if (whole and record.part) or not _of_part(clause.part, record.part):
            continue
        if _conditions(clause, case, record):
            found.append(record)
    for key, value in MEANT.get(clause.quantity, {}).items():
        if key not in clause.at:
            found = [record for record in found if record.at.get(key) == value] or found
    return found


def _of_part(wanted: str | None, part: str) -> bool:
    """Tell whether a part is the wanted one, or one of its pair or lobes (``claw/left``)."""
    return wanted is None or part == wanted or part.startswith(f"{wanted}/")


def _conditions(clause: Clause, case: Case, record: Record) -> bool:
    at = dict(record.at)
    filed = at.pop("water_temperature", None)
    if own_water(clause, case) != (filed is None):
        return False
    if filed is not None and not same(float(filed), clause.temperature or 0.0):
        return False
    if clause.speed is not None:
        speed = at.get("speed")
        if not isinstance(speed, float) or not same(speed, clause.speed):
            return False
    for key, wanted in clause.at.items():
        given = at.get(key)
        if isinstance(wanted, float) and isinstance(given, float | int):
            if not same(float(given), wanted):
                return False
        elif given != wanted:
            return False
    if any(key in at and key not in clause.at for key in DETAILS):
        return False
    if clause.quantity == CLEARS:
        return True  # at rest, over the beat and on the cast: the closest of them counts
    # the drag of the rest shape is not that of the beat, unless it is asked for
    return not ("state" in at and "state" not in clause.at and at["state"] == "rest")


def judge(
    case: Case,
    records: Sequence[Record],
    *,
    banded: bool,
    bands: Bands | None = None,
    hand: Sequence[Record] = (),
) -> list[Finding]:
    """Return a finding for every clause of the brief.

    Parameters
    ----------
    case : Case, with its brief
    records : of all runs of one design
    banded : bool, the records carry their bands
    bands : mapping of column to low and high over value, used to measure margins where the
        records have no band
    hand : of the bait in hand, for the same draw of all that scatters
    """
    return [
        _against(clause, case, records, hand)
        if clause.against is not None
        else _judge(clause, case, records, banded, bands or {})
        for clause in case.brief
    ]


def _against(
    clause: Clause, case: Case, records: Sequence[Record], hand: Sequence[Record]
) -> Finding:
    """Return the finding of a clause that is told against the bait in hand."""
    found, before = matching(clause, case, records), matching(clause, case, hand)
    if not before:
        why = "told by the same samples of both: simsoft pick, simsoft tolerance"
        return Finding(clause, OPEN, None, NEVER, None, why)
    new, old = found[0].value if found else None, before[0].value
    if not isinstance(new, float) or new <= 0.0:
        why = (found[0].reason if found else "") or "no value"
        return Finding(clause, MISSES, None, NEVER, found[0] if found else None, why)
    if not isinstance(old, float) or old <= 0.0:
        better = clause.against == "better"
        why = "the bait in hand has no value"
        return Finding(clause, MEETS if better else MISSES, None, float(better), found[0], why)
    gap = math.log(new / old)
    wide = math.log1p(clause.within)
    inside = wide - abs(gap) if clause.against == "same" else BETTER[clause.quantity] * gap
    verdict = MEETS if inside >= 0.0 and (gap or clause.against == "same") else MISSES
    return Finding(clause, verdict, None, inside / wide, found[0])


def _judge(
    clause: Clause, case: Case, records: Sequence[Record], banded: bool, bands: Bands
) -> Finding:
    found = matching(clause, case, records)
    if not found:
        return Finding(clause, OPEN, None, NEVER, None, _why_open(clause, case))
    one = [_unproven(_one(clause, record, banded, bands)) for record in found]
    # one that misses decides, whatever is not known of the others
    missed = [finding for finding in one if finding.verdict in (MISSES, NO_GO)]
    return max(missed or one, key=lambda finding: (ORDER[finding.verdict], -finding.bands))


def _unproven(finding: Finding) -> Finding:
    """Return a finding that is no go where nothing measured stands behind it.

    A look that was left out stands behind nothing.
    """
    record = finding.record
    if finding.verdict != GO or record is None or ON_SOFT_BODY not in record.basis:
        return finding
    if BY_LOOK in record.basis:
        return finding
    return replace(finding, verdict=MARGINAL, reason=UNPROVEN)


def _why_open(clause: Clause, case: Case) -> str:
    """Return why a run says nothing about a clause."""
    if not own_water(clause, case) and clause.temperature is not None:
        asked = f"{clause.temperature - 273.15:.4g} degC"
        return f'asked in other water: --set water.temperature="{asked}" answers it'
    places = scenarios_of(clause, case)
    if clause.quantity not in WEIGHED and not places:
        return "no scenario of the case answers it"
    if clause.speed is not None and not any(
        same(speed, clause.speed) for s in places for speed in s.speeds
    ):
        return f"no scenario of the case is run at {clause.speed:.4g} m/s"
    if clause.quantity in (CLEARS, FOULS) and (case.rig is None or case.rig.hook is None):
        return "the case has no hook"
    return "no record of the run answers it"


def _one(clause: Clause, record: Record, banded: bool, bands: Bands) -> Finding:
    value = record.value
    if value is None or isinstance(value, tuple):
        verdict = NO_GO if banded else MISSES
        return Finding(clause, verdict, None, NEVER, record, record.reason or "no value")
    if isinstance(value, str):
        good = value == clause.equals
        words = (GO, NO_GO) if banded else (MEETS, MISSES)
        return Finding(clause, words[0] if good else words[1], None, 1.0 if good else NEVER, record)
    why = why_untrusted(record)
    if why is not None and (banded or clause.quantity == CLEARS):
        return Finding(clause, OPEN, None, NEVER, record, f"{UNTRUSTED}: {why}")
    ends = _ends(record, bands)
    margin, widths = _margin(clause, value, ends)
    if not banded:
        return Finding(clause, MEETS if margin >= 0.0 else MISSES, margin, widths, record)
    if not isinstance(record.low, float):
        reason = "the number has no band"
        return Finding(clause, MARGINAL if margin >= 0.0 else NO_GO, margin, widths, record, reason)
    high = record.high if isinstance(record.high, float) else float("inf")
    inside = _inside(clause, record.low) and _inside(clause, high)
    outside = (clause.at_most is not None and record.low > clause.at_most) or (
        clause.at_least is not None and high < clause.at_least
    )
    if inside:
        return Finding(clause, GO, margin, widths, record)
    if outside:
        return Finding(clause, NO_GO, margin, widths, record, "the whole band misses")
    lean = "more likely meets" if margin >= 0.0 else "more likely misses"
    return Finding(clause, MARGINAL, margin, widths, record, f"the band crosses the limit: {lean}")


def _inside(clause: Clause, number: float) -> bool:
    low = clause.at_least is None or number >= clause.at_least
    return low and (clause.at_most is None or number <= clause.at_most)


def _ends(record: Record, bands: Bands) -> tuple[float, float]:
    """Return the band of a record: its own, or the base design's scaled to its value."""
    from simsoft.design.sweep.row import column_of

    value = float(record.value)  # type: ignore[arg-type]
    if isinstance(record.low, float):
        return record.low, record.high if isinstance(record.high, float) else 2 * value - record.low
    low, high = bands.get(column_of(record), (1.0 - UNKNOWN_BAND, 1.0 + UNKNOWN_BAND))
    return value * low, value * high


def _margin(clause: Clause, value: float, ends: tuple[float, float]) -> tuple[float, float]:
    """Return the margin and the margin over the half band towards the limit."""
    found = []
    tiny = 1e-12 + 1e-6 * abs(value)
    if clause.at_most is not None:
        gap = clause.at_most - value
        reach = ends[1] - value if gap >= 0 else value - ends[0]
        beyond = _factors(clause.at_most, value, value, ends[0]) if gap < 0 else None
        found.append((gap, gap / max(reach, tiny) if beyond is None else beyond))
    if clause.at_least is not None:
        gap = value - clause.at_least
        reach = value - ends[0] if gap >= 0 else ends[1] - value
        beyond = _factors(value, clause.at_least, ends[1], value) if gap < 0 else None
        found.append((gap, gap / max(reach, tiny) if beyond is None else beyond))
    return min(found, key=lambda pair: pair[1])


def _factors(less: float, more: float, top: float, bottom: float) -> float | None:
    """Return how often the factor from bottom to top lies between two numbers, below zero.

    A band that is a share of its number grows with it: in its half widths, numbers ever farther
    above a limit would all come to the same. None where a number has no factor.
    """
    if less <= 0.0 or bottom <= 0.0 or not top > bottom * (1.0 + 1e-6):
        return None
    return -math.log(more / less) / math.log(top / bottom)


def overall(findings: Sequence[Finding]) -> str:
    """Return the verdict of a whole brief: the worst of its clauses."""
    if not findings:
        return ""
    return max((finding.verdict for finding in findings), key=lambda verdict: ORDER[verdict])


def summed(findings: Sequence[Finding]) -> str:
    """Return the verdict of a brief, 'so far' where a clause without an answer may change it."""
    known = answered(findings)
    if not known:
        return OPEN
    word = overall(known)
    final = len(known) == len(findings) or word in (NO_GO, MISSES)
    return word if final else f"{word} {SO_FAR}"


def answered(findings: Sequence[Finding]) -> list[Finding]:
    """Return the findings of the clauses that the run says anything about."""
    return [finding for finding in findings if finding.verdict != OPEN]


def score(findings: Sequence[Finding]) -> float:
    """Return the smallest margin of a brief in half bands; designs are ranked by it."""
    return min((finding.bands for finding in findings), default=0.0)


def meets(findings: Sequence[Finding]) -> bool:
    """Tell whether every clause is met by the number itself, whatever its band."""
    return bool(findings) and all(
        f.verdict in (GO, MEETS) or (f.verdict == MARGINAL and (f.margin or 0.0) >= 0.0)
        for f in findings
    )
