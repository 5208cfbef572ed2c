"""A paddle that will not kick, in words: why, and what would wake it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from simsoft.design.levers import MovedKey
from simsoft.design.wake import Asleep, Reason, Waking
from simsoft.report.units import LengthUnit, speed_text, user_unit


def wake_warnings(found: Sequence[Asleep], unit: LengthUnit) -> list[str]:
    """Return sentences about paddles that kick at no speed asked: why, then what wakes each."""
    return [sentence for one in found for sentence in _sentences(one, unit)]


def _sentences(one: Asleep, unit: LengthUnit) -> Iterator[str]:
    name, fastest = one.part, speed_text(one.speed, unit)
    start = "without a start" if one.start is None else f"a start at {_speed(one.start, unit)}"
    why = "; ".join(_reason(reason, unit) for reason in one.reasons)
    why = why or "nothing stands out of its paddle: stem and pour are too stiff for these speeds"
    yield f"{name}: kicks at no speed asked, up to {fastest} ({start}): {why}"
    for waking in one.alone:
        yield f"{name}: would kick with {_waking(waking, fastest, unit)}"
    if one.together is not None:
        told = _waking(one.together, fastest, unit)
        yield f"{name}: no single change that was tried makes it kick; together {told}"
    elif not one.alone:
        yield (
            f"{name}: no change that was tried makes it kick at {fastest}, neither alone nor "
            "together: pull faster, or let it bend from a soft body (`body.flexible`, `rig.hook`)"
        )


def _reason(reason: Reason, unit: LengthUnit) -> str:
    share = 100.0 * reason.share
    if reason.word == "shaded":
        told, other = f"the body ahead leaves it {share:.0f} % of the stream", "in all of it"
    elif reason.word == "thin":
        told = f"its paddle is thin, {share:.0f} % of its height: its rim feels little of the wake"
        other = f"{_length(reason.ordinary, unit)} thick"
    else:
        told = "its paddle is centred on the stem, so that the stream hardly twists it"
        other = f"hung {_length(reason.ordinary, unit)} off it"
    if reason.start is None:
        return f"{told} ({other}, it would not start either)"
    return f"{told} ({other}, it would start at {_speed(reason.start, unit)})"


def _waking(waking: Waking, fastest: str, unit: LengthUnit) -> str:
    told = " ".join(_change(change, unit) for change in waking.changes)
    stroke = _length(waking.stroke, unit)
    return f"{told}: from {_speed(waking.start, unit)}, stroke {stroke} at {fastest}"


def _change(change: MovedKey, unit: LengthUnit) -> str:
    factor, name = user_unit(change.unit, unit)
    if change.unit == "rad":
        factor, name = math.degrees(1.0), "deg"
    return f'--set {change.key}="{change.value * factor:.3g} {name or change.unit}"'


def _speed(speed: float, unit: LengthUnit) -> str:
    return speed_text(float(f"{speed:.2g}"), unit)


def _length(size: float, unit: LengthUnit) -> str:
    factor, name = user_unit("m", unit)
    return f"{size * factor:.2g} {name}"
