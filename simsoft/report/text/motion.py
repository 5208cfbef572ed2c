"""The whole free lure in the text report: fall, hop, tow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from simsoft.core.quantities import LEVEL
from simsoft.report.units import LengthUnit, band_numbers, show, speed_text, unit_of, user_unit
from simsoft.results.record import Record, select, why_untrusted

Records = Sequence[Record]

FOOT = 0.3048  # [m], exact by definition
VISIBLE_ROLL = 10.0  # [deg]
FIRST, CELL = 22, 20
FALL_WORDS = {
    "steady": "steadily",
    "glides": "in a glide",
    "wobbles": "wobbling",
    "spirals": "in a spiral",
    "spins": "spinning about itself",
    "stays": "hardly at all",
}
# Quantities that the sentence or the tables tell.
TOLD = (
    *("sink_rate", "attitude", "fall", "count_down", "settling_time", "settling_depth"),
    *("time_to_depth", "trim_stability", "trim_sink_rate", "trim_attitude", "momentum_residual"),
)
SWINGS = (
    "yaw_swing",
    "pitch_swing",
    "roll_swing",
    "sway",
    "attitude",
    "line_tension",
    "line_angle",
)


def is_motion(records: Records) -> bool:
    """Return whether records are those of the whole lure on a fall, a hop or a tow."""
    return not records[0].part and bool(select(records, "momentum_residual"))


def motion_answer(scenario: str, records: Records, length_unit: LengthUnit) -> list[str]:
    """Return the answer about the whole lure as sentences.

    Parameters
    ----------
    scenario : str
    records : sequence of Record of the whole lure in one scenario
    length_unit : 'mm' or 'inch'
    """
    fall = select(records, "fall")
    if fall:
        return [_fall_sentence(scenario, records, length_unit)]
    if select(records, "nose_motion"):
        return [_hop_sentence(scenario, records, length_unit)]
    return [_tow_sentence(scenario, records, length_unit)]


def _fall_sentence(scenario: str, records: Records, unit: LengthUnit) -> str:
    (rate,) = select(records, "sink_rate")
    (attitude,) = select(records, "attitude")
    (fall,) = select(records, "fall")
    speed = rate.value if isinstance(rate.value, float) else 0.0
    verb = "rises" if speed < 0.0 else "sinks"
    why = why_untrusted(rate)
    if why is not None:
        return (
            f"{scenario}: whole lure {verb}; no sink rate to trust: {why}; computed "
            f"{_size(rate, unit)}. Screening level."
        )
    text = f"{scenario}: whole lure {verb} at {_size(rate, unit)}"
    if abs(speed) > 1.0e-3:
        text += f", {1.0 / abs(speed):.2g} s a metre, {FOOT / abs(speed):.2g} s a foot"
    text += f"; {_nose(attitude, unit)}{_manner(fall)}{_rolls(records, unit)}."
    time = select(records, "settling_time")
    depth = select(records, "settling_depth")
    if time and time[0].value is not None:
        way = "up" if speed < 0.0 else "down"
        text += f" At speed after {show(time[0], unit)}, {show(depth[0], unit)} {way}."
    return f"{text} Screening level."


def _manner(fall: Record) -> str:
    """Return how it falls; what the march says only where that is to be trusted."""
    why = why_untrusted(fall)
    return f", {FALL_WORDS.get(str(fall.value), str(fall.value))}" if why is None else f"; {why}"


def _rolls(records: Records, unit: LengthUnit) -> str:
    """Return the largest lean on the way down, where somebody would see it."""
    found = select(records, "roll")
    lean = found[0].value if found else None
    if not isinstance(lean, float) or lean < VISIBLE_ROLL:
        return ""
    return f", rolling to {show(found[0], unit)}"


def _nose(attitude: Record, unit: LengthUnit) -> str:
    why = why_untrusted(attitude)
    if why is not None:
        return f"how the nose points is not told: {why}"
    nose = attitude.value if isinstance(attitude.value, float) else 0.0
    if abs(nose) < LEVEL:
        return "level"
    return f"nose {'down' if nose >= 0.0 else 'up'} {_size(attitude, unit)}"


def _size(record: Record, unit: LengthUnit) -> str:
    """Return a signed record without its sign, band ends in order."""
    value, low, high = record.value, record.low, record.high
    if not isinstance(value, float) or value >= 0.0:
        return show(record, unit)
    lowest = -high if isinstance(high, float) else None
    highest = -low if isinstance(low, float) else None
    turned = replace(record, value=-value, low=lowest, high=highest)
    return show(turned, unit)


def _hop_sentence(scenario: str, records: Records, unit: LengthUnit) -> str:
    (nose,) = select(records, "nose_motion")
    text = f"{scenario}: the nose moves {show(nose, unit)} a cycle"
    for during, name in (("drop", "on the drop"), ("shake", "on average")):
        found = [r for r in select(records, "attitude", during=during) if r.value is not None]
        rate = [r for r in select(records, "sink_rate", during=during) if r.value is not None]
        if found and rate:
            sinks = isinstance(rate[0].value, float) and rate[0].value >= 0.0
            verb = "sinking" if sinks else "rising"
            moves = "" if during == "shake" else f", {verb} at {_size(rate[0], unit)}"
            told = why_untrusted(found[0]) is None
            text += f"; {f'{name} ' if told else ''}{_nose(found[0], unit)}{moves}"
    tails = select(records, "tail_motion")
    if tails and why_untrusted(tails[0]) is None:
        text += f"; the rear end moves {show(tails[0], unit)}"
    return f"{text}. Screening level."


def _tow_sentence(scenario: str, records: Records, unit: LengthUnit) -> str:
    (moment,) = select(records, "righting_moment")
    rights = isinstance(moment.value, float) and moment.value > 0.0
    wobbles = select(records, "wobble")
    told = "; ".join(
        f"{show(r, unit)} at {speed_text(float(r.at['speed']), unit)}" for r in wobbles
    )
    state = "rights itself in roll" if rights else "does not right itself in roll"
    return f"{scenario}: towed free, the nose swings {told}; the lure {state}. Screening level."


def motion_tables(records: Records, length_unit: LengthUnit) -> Iterator[str]:
    """Yield the lines of the tables: time to depth, steady descents, answers against speed."""
    depths = select(records, "time_to_depth")
    if depths:
        yield _row("depth [m]", "time [s]")
        for record in depths:
            yield _row(f"{float(record.at['depth']):g}", band_numbers(record, length_unit)[0])
    trims = select(records, "trim_stability")
    if trims:
        yield ""
        yield _row(
            "steady descents",
            f"sink rate [{unit_of('trim_sink_rate', 'm/s', length_unit)[1]}]",
            "nose down [deg]",
        )
        for record in trims:
            at = {"trim": record.at["trim"]}
            cells = [
                band_numbers(select(records, name, **at)[0], length_unit)[0]
                for name in ("trim_sink_rate", "trim_attitude")
            ]
            yield _row(str(record.value), *cells)
    speeds = sorted({float(r.at["speed"]) for r in records if "speed" in r.at})
    if speeds:
        yield from _speed_table(records, speeds, length_unit)


def _speed_table(records: Records, speeds: list[float], unit: LengthUnit) -> Iterator[str]:
    for name in SWINGS:
        column = select(records, name)
        if not column:
            continue
        label = user_unit(column[0].unit, unit, _largest(column))[1]
        yield ""
        yield _row(f"speed [{user_unit('m/s', unit)[1]}]", f"{name.replace('_', ' ')} [{label}]")
        for speed in speeds:
            (record,) = select(column, name, speed=speed)
            yield _row(
                speed_text(speed, unit).split()[0], band_numbers(record, unit, _largest(column))[0]
            )


def _largest(column: Records) -> float:
    return max(abs(r.value) for r in column if isinstance(r.value, float))


def is_told(record: Record) -> bool:
    """Return whether sentence or tables hold a record of the whole free lure."""
    if "speed" in record.at:
        return record.quantity in (*SWINGS, "momentum_residual")
    return record.quantity in TOLD and "during" not in record.at


def _row(first: str, *cells: str) -> str:
    return f"  {first:<{FIRST}}" + "".join(f"{cell:<{CELL}}" for cell in cells)
