"""The answer of one part in a few sentences: does it move, from what speed, how fast, how sure.

``records`` are those of one scenario and part, lengths are told in ``length_unit``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from simsoft.core.quantities import words
from simsoft.design.evidence import PADDLE_WORD
from simsoft.report.units import LengthUnit, show, speed_text, told_in
from simsoft.results.record import (
    ON_SOFT_BODY,
    Record,
    is_upper_bound,
    select,
    why_untrusted,
)

Records = Sequence[Record]

STILL = "still"
SHIVERING = " (strokes less than 15 % of the paddle's width)"
SHIVERS = "shivers"
# A band wider than this ratio of high to low is told as a factor, a narrower one in per cent.
WIDE_BAND = 2.0
NEXT_TO_NONE = 0.1  # of a value, below which the low end of its band is told in words
STROKES = (
    "Edges hold to 0.8 to 1.1 times, strokes to a factor of 2, against a resolved flow (computed "
    "here), not yet against water."
)
SOFT_STROKES = (
    "Edges hold to 0.80 to 1.24 times, strokes to 0.65 to 1.39, against 49 runs of a resolved flow "
    "(computed here), not yet against water; many swing up and down as well."
)
STILL_MAY_BEAT = (
    "called still, it may beat all the same: so did 4 of 18 such tails in a resolved flow, most "
    "of them not far below their start (computed here); `simsoft resolve` looks."
)
SOFT_STILL_MAY_BEAT = (
    "called still, it may beat all the same: only 2 soft baits called still were run in a resolved "
    "flow, and neither did (computed here); `simsoft resolve` looks."
)


def _list_of(items: Sequence[str]) -> str:
    """Return items joined as in a sentence."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def _by_speed(records: Records, quantity: str) -> dict[float, Record]:
    """Return the first record of a quantity at each speed [m/s], slowest first."""
    found: dict[float, Record] = {}
    for record in select(records, quantity):
        if "speed" in record.at:
            found.setdefault(float(record.at["speed"]), record)
    return dict(sorted(found.items()))


def _first(records: Records, quantity: str, **at: str) -> Record | None:
    """Return the first record of a quantity that has a value, or None."""
    return next((r for r in select(records, quantity, **at) if r.value is not None), None)


def _verdicts(records: Records, unit: LengthUnit) -> dict[str, str]:
    """Return each verdict with the speeds it was found at, in the order of the speed."""
    groups: dict[str, list[str]] = {}
    for speed, record in _by_speed(records, "verdict").items():
        if record.value is not None:
            groups.setdefault(str(record.value), []).append(speed_text(speed, unit))
    return {verdict: _list_of(speeds) for verdict, speeds in groups.items()}


def _missing(records: Records, quantity: str, unit: LengthUnit) -> str:
    """Return ' No <quantity>: <reason>.' for a record without a value, else nothing."""
    reasons = [told_in(r.reason, unit) for r in select(records, quantity) if r.value is None]
    return f" No {words(quantity)}: {reasons[0]}." if reasons else ""


def headline(part: str, records: Records, length_unit: LengthUnit = "mm") -> str:
    """Return the answer in one or two sentences.

    Parameters
    ----------
    part : str, name of the part
    records : sequence of Record of one scenario and this part
    length_unit : 'mm' or 'inch'

    Returns
    -------
    sentence : str, such as 'tail kicks from 0.24 m/s (0.16 to 0.36), at 2.9 Hz (2.3 to 3.6).'
    """
    verdicts = _verdicts(records, length_unit)
    moving = [verdict for verdict in verdicts if verdict not in (STILL, SHIVERS)]
    start = _first(records, "start_speed")
    doubted = None if start is None else why_untrusted(start)
    if start is not None and doubted is None:
        rate = _first(records, "start_frequency")
        at = f", at {show(rate, length_unit)}" if rate is not None else ""
        verb = moving[0] if moving else "starts to beat"
        more = "".join(f" It {verdict} at {verdicts[verdict]}." for verdict in moving[1:])
        since = "" if is_upper_bound(start.basis) else "from "
        begins = f"{verb} {since}{show(start, length_unit)}{at}.{more}"
        idle = bool(verdicts) and not moving
        if idle:
            return f"{part} {_idle(records, verdicts)}.{_folds(records, length_unit)} It {begins}"
        return f"{part} {begins}"
    why = _missing(records, "start_speed", length_unit)
    if start is not None:
        doubted = told_in(doubted, length_unit)
        why = f" No start speed to trust: {doubted}; computed {show(start, length_unit)}."
    if moving:
        at = "; ".join(f"{verdict} at {verdicts[verdict]}" for verdict in moving)
        return f"{part} {at}.{why}"
    if verdicts:
        return f"{part} {_idle(records, verdicts)}.{_folds(records, length_unit)}{why}"
    mode = _first(records, "natural_frequency", medium="water")
    if mode is not None and not why:
        return f"{part} rings at {show(mode, length_unit)} in still water."
    return f"{part}:{why or ' see the tables below.'}"


def _folds(records: Records, length_unit: LengthUnit) -> str:
    """Return how far back an idle part is folded at the fastest speed, nothing where not known."""
    found = {s: r for s, r in _by_speed(records, "fold_back").items() if r.value is not None}
    if not found:
        return ""
    fastest = max(found)
    told = show(found[fastest], length_unit)
    return f" It folds back {told} at {speed_text(fastest, length_unit)}."


def _idle(records: Records, verdicts: dict[str, str]) -> str:
    """Return what a part does that neither kicks nor beats at any speed asked."""
    kicks = any(PADDLE_WORD in record.basis for record in select(records, "verdict"))
    told = [
        f"{verdict} at {speeds}{SHIVERING if verdict == SHIVERS else ''}"
        for verdict, speeds in verdicts.items()
    ]
    return f"does not {'kick' if kicks else 'beat'} at fishing speeds: {'; '.join(told)}"


def how_fast(records: Records, length_unit: LengthUnit = "mm") -> str | None:
    """Return the rate at the slowest and the fastest speed that moves, or None.

    Of a part called still there is none, whatever the last of its kick does.

    Returns
    -------
    sentence : str or None
    """
    rates = {
        s: r
        for s, r in _by_speed(records, "flap_frequency").items()
        if r.value is not None and why_untrusted(r) is None
    }
    verdicts = _by_speed(records, "verdict")
    rates = {s: r for s, r in rates.items() if s not in verdicts or verdicts[s].value != STILL}
    alive = {s: r for s, r in rates.items() if s not in verdicts or _moves(verdicts[s])}
    rates = alive or rates
    if not rates:
        return None
    ends = dict.fromkeys([min(rates), max(rates)])
    return (
        "; ".join(f"{show(rates[s], length_unit)} at {speed_text(s, length_unit)}" for s in ends)
        + "."
    )


def _moves(verdict: Record) -> bool:
    return verdict.value not in (STILL, SHIVERS)


def _width(record: Record) -> str | None:
    """Return the width of a band in words, or None where there is none."""
    value, low, high = record.value, record.low, record.high
    if isinstance(value, float) and isinstance(low, float) and high is None and low > 0.0:
        return f"could be {value / low:.1f} times lower, no upper bound found"
    if not all(isinstance(x, int | float) for x in (value, low, high)):
        return None
    assert isinstance(value, int | float)
    assert isinstance(low, int | float)
    assert isinstance(high, int | float)
    if not 0.0 < low < high or value <= 0.0:
        return None
    if high / low > WIDE_BAND:
        return f"within a factor of {max(high / value, value / low):.1f}"
    return f"within {max(high - value, value - low) / value * 100.0:.0f} %"


def how_sure(records: Records, length_unit: LengthUnit = "mm") -> str | None:
    """Return how wide the bands of start speed, rate and width of the beat are, or None.

    The width is that from edge to edge where there is a paddle, else the stroke.

    Returns
    -------
    sentence : str or None, the widest band over the speeds of each quantity
    """
    told = []
    wide = "edge_to_edge" if _first(records, "edge_to_edge") is not None else "stroke"
    for quantity in ("start_speed", "flap_frequency", wide):
        bands = [
            r for r in select(records, quantity) if _width(r) is not None and _told(r, records)
        ]
        fading = [r for r in bands if "speed" in r.at and _fades(r)]
        lasting = [r for r in bands if r not in fading]
        if lasting:
            told.append(f"{words(quantity)} {_width(max(lasting, key=_relative_width))}")
        if fading:
            speeds = [speed_text(float(r.at["speed"]), length_unit) for r in fading]
            told.append(f"{words(quantity)} at {_list_of(speeds)} perhaps next to none")
    screening = any("screening" in r.basis for r in records if r.value is not None)
    note = " Screening level." if screening else ""
    return f"{'; '.join(told)}.{note}" if told else note.strip() or None


def _fades(record: Record) -> bool:
    """Return whether a band reaches down to next to nothing, where a factor says little."""
    value, low = record.value, record.low
    return isinstance(value, float) and isinstance(low, float) and low < NEXT_TO_NONE * value


def _told(record: Record, records: Records) -> bool:
    """Return whether a record belongs to a speed at which the part moves, or to none."""
    verdicts = _by_speed(records, "verdict")
    if why_untrusted(record) is not None:
        return False
    speed = record.at.get("speed")
    return speed is None or speed not in verdicts or _moves(verdicts[float(speed)])


def _relative_width(record: Record) -> float:
    """Return high over low of a record that has a band."""
    low = record.low if isinstance(record.low, float) else 0.0
    high = record.high if isinstance(record.high, float) else math.inf
    return high / low if low > 0.0 else math.inf


def side_by_side(records: Records, length_unit: LengthUnit = "mm") -> str | None:
    """Return where a large motion leads to another beat than a small one, or None.

    Returns
    -------
    sentence : str or None, such as 'at 0.8 m/s 2.7 mm from a small kick, 15 mm from a large one.'
    """
    small, rates = _by_speed(records, "stroke"), _by_speed(records, "flap_frequency_from_above")
    told = []
    for speed, large in _by_speed(records, "stroke_from_above").items():
        if large.value is None or speed not in small:
            continue
        rate = f" at {show(rates[speed], length_unit)}" if speed in rates else ""
        told.append(
            f"at {speed_text(speed, length_unit)} {show(small[speed], length_unit)} from a small "
            f"kick, {show(large, length_unit)}{rate} from a large one"
        )
    return f"{'; '.join(told)}." if told else None


def how_wide(records: Records, length_unit: LengthUnit = "mm") -> str | None:
    """Return how wide a paddle beats and how far to trust it, or that it is called still, or None.

    Returns
    -------
    sentence : str or None, such as 'edges sweep 24 mm (19 to 32) at 0.6 m/s, the paddle's centre
        11 mm (6 to 19).'
    """
    strokes = {
        speed: record
        for speed, record in _by_speed(records, "stroke").items()
        if record.value and PADDLE_WORD in record.basis and _told(record, records)
    }
    soft = any(ON_SOFT_BODY in record.basis for record in records)
    if strokes:
        edges = _by_speed(records, "edge_to_edge")
        fastest = max(strokes)
        told = show(strokes[fastest], length_unit)
        at = f"at {speed_text(fastest, length_unit)}"
        if fastest in edges:
            swept = show(edges[fastest], length_unit)
            told = f"edges sweep {swept} {at}, the paddle's centre {told}"
        else:
            told = f"{told} {at}"
        return f"{told}. {SOFT_STROKES if soft else STROKES}"
    paddle = any(PADDLE_WORD in record.basis for record in records)
    words_said = {str(record.value) for record in _by_speed(records, "verdict").values()}
    if not paddle or STILL not in words_said:
        return None
    caution = SOFT_STILL_MAY_BEAT if soft else STILL_MAY_BEAT
    return caution if words_said == {STILL} else f"where {caution}"


def doubt(records: Records) -> str | None:
    """Return which input each band mostly comes from, or None where nobody says.

    Parameters
    ----------
    records : sequence of Record of one scenario and part

    Returns
    -------
    sentence : str or None, such as 'start speed mostly from durometer (60 %).'
    """
    unsure = {r.quantity for r in records if why_untrusted(r) is not None}
    told = [
        f"{words(of)} mostly from {record.value or record.reason}"
        + (f" ({share_of(record) * 100.0:.0f} %)" if "share" in record.at else "")
        for of, record in largest_doubts(records).items()
        if of not in unsure
    ]
    return "; ".join(told) + "." if told else None


def largest_doubts(records: Records) -> dict[str, Record]:
    """Return by quantity the doubt with the largest share of its band, none without a share."""
    largest: dict[str, Record] = {}
    for record in select(records, "doubt"):
        of = str(record.at.get("of", ""))
        if record.at.get("share") == 0.0 or not _told(record, records):
            continue
        known = largest.get(of)
        if known is None or share_of(record) > share_of(known):
            largest[of] = record
    return largest


def share_of(record: Record) -> float:
    """Return the share of the band a doubt record claims [-]."""
    return float(record.at.get("share", 0.0))
