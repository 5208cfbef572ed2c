"""A cast in the text report: how far, in which attitude, in which wind, and what limits it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simsoft.report.units import LengthUnit, band_numbers, rounded, show
from simsoft.results.record import Record, select

FOOT = 0.3048  # [m], exact by definition
MILE_AN_HOUR = 0.44704  # [m/s], exact by definition
CAUTION = "  A cast lure blinds: eye protection for all near, look behind, no power lines."
ATTITUDE_WORDS = {"end-on": "end on", "broadside": "broadside", "tumbling": "tumbling"}
QUANTITIES = (
    "cast_distance", "cast_drift", "flight_time", "best_launch_angle", "flat_loss",
    "flight_attitude", "other_attitude", "static_margin", "drag_area", "ballistic_coefficient",
)  # fmt: skip
NAME_CELL = 21
WIDE_CELL = 20
CELL = 13


def is_cast(records: Sequence[Record]) -> bool:
    """Return whether records answer a cast."""
    return bool(select(records, "flight_attitude"))


def cast_answer(name: str, records: Sequence[Record], length_unit: LengthUnit) -> list[str]:
    """Return the answer of a cast in a few sentences, the reach first.

    Parameters
    ----------
    name : str, of the scenario
    records : sequence of Record of the scenario and the whole lure
    length_unit : 'mm' or 'inch'; with 'inch' distances are told in feet
    """
    (attitude,) = select(records, "flight_attitude")
    why = attitude.basis.partition(": ")[2]
    reaches = _expected(records, "cast_distance")
    told = [f"{far(r, length_unit)} {_in_wind(r, length_unit)}" for r in _told_first(reaches)]
    lines = [f"{name}: flies {'; '.join(told)}.", f"  Attitude: {why}."]
    others = select(records, "other_attitude")
    if others:
        lines.append(f"    Within the band it may fly {others[0].value} instead.")
    lines.append(f"  Limit: {_limit(records, reaches, length_unit)}")
    lost = [r for r in select(records, "flat_loss") if isinstance(r.value, float)]
    if lost:
        worst = max(lost, key=lambda r: float(r.value))  # type: ignore[arg-type]
        lines.append(
            f"  Flat body: costs {far(worst, length_unit)} {_in_wind(worst, length_unit)} against "
            "a round one of equal mass."
        )
    return lines


def _limit(records: Sequence[Record], reaches: Sequence[Record], length_unit: LengthUnit) -> str:
    """Return what the other attitudes would reach in the calmest wind."""
    calm = reaches[0]
    (attitude,) = select(records, "flight_attitude")
    others = [
        r
        for r in select(records, "cast_distance", **calm.at)
        if r.at.get("attitude") not in (None, attitude.value)
    ]
    flying = "tumbling" if attitude.value == "tumbling" else f"flying {attitude.value}"
    would = " and ".join(
        f"{far(r, length_unit, band=False)} {ATTITUDE_WORDS[str(r.at['attitude'])]}" for r in others
    )
    if attitude.value == "end-on":
        return f"holding it; the same throw reaches {would}."
    return f"the drag of {flying}; the same throw reaches {would}."


def reach_lines(records: Sequence[Record], length_unit: LengthUnit) -> Iterator[str]:
    """Yield the lines of the reach against wind table and of the facts behind it."""
    yield ""
    unit = "ft" if length_unit == "inch" else "m"
    reaches = _expected(records, "cast_distance")
    yield _row(f"reach [{unit}]", "expected", *ATTITUDE_WORDS.values())
    for reach in reaches:
        same = select(records, "cast_distance", **reach.at)
        by_attitude = {str(r.at["attitude"]): r for r in same if "attitude" in r.at}
        others = [far(by_attitude[a], length_unit, band=False) for a in ATTITUDE_WORDS]
        cells = [other.partition(" ")[0] for other in others]
        yield _row(wind_words(reach, length_unit), _cell(reach, length_unit), *cells)
    yield ""
    yield _row("", f"drift left [{unit}]", "best release", "in the air")
    for reach in reaches:
        angle, drift, time = (
            _at(records, quantity, reach)
            for quantity in ("best_launch_angle", "cast_drift", "flight_time")
        )
        yield _row(
            wind_words(reach, length_unit),
            "-" if drift is None else _cell(drift, length_unit),
            "-" if angle is None else f"{show(angle).partition(' (')[0]}",
            "-" if time is None else f"{show(time).partition(' (')[0]}",
        )
    yield ""
    for attitude, word in ATTITUDE_WORDS.items():
        (area,) = select(records, "drag_area", attitude=attitude)
        told = f"  drag area {word}: {band_numbers(area)[0]} cm2"
        for heavy in select(records, "ballistic_coefficient", attitude=attitude):
            told += f", mass over it {rounded(float(heavy.value), 0)} kg/m2"  # type: ignore[arg-type]
        yield told
    (margin,) = select(records, "static_margin")
    ends = [100.0 * x for x in (margin.value, margin.low, margin.high) if isinstance(x, float)]
    band = f" ({ends[1]:.0f} to {ends[2]:.0f})" if len(ends) == 3 else ""
    yield f"  mass ahead of the drag: {ends[0]:.0f} % of the length{band}"
    yield CAUTION


def wind_words(record: Record, length_unit: LengthUnit) -> str:
    """Return the wind of a record in words, in miles an hour beside inches."""
    speed, bearing = float(record.at["wind"]), float(record.at["wind_from"]) % 360.0
    if speed == 0.0:
        return "in still air"
    known = {0.0: "head wind", 90.0: "from the left", 180.0: "tail wind", 270.0: "from the right"}
    told = f"{speed / MILE_AN_HOUR:.2g} mph" if length_unit == "inch" else f"{speed:g} m/s"
    return f"{told} {known.get(bearing, f'from {bearing:g} deg')}"


def _in_wind(record: Record, length_unit: LengthUnit) -> str:
    words = wind_words(record, length_unit)
    return words if words.startswith("in ") else f"in {'a ' if 'wind' in words else ''}{words}"


def far(record: Record, length_unit: LengthUnit, *, band: bool = True) -> str:
    """Return a distance over water with its unit, metres or feet."""
    cell = _cell(record, length_unit)
    first, _, rest = cell.partition(" (")
    unit = "ft" if length_unit == "inch" else "m"
    return f"{first} {unit}" + (f" ({rest}" if rest and band else "")


def _cell(record: Record, length_unit: LengthUnit) -> str:
    """Return a distance with its band in whole metres or feet."""
    factor = 1.0 / FOOT if length_unit == "inch" else 1.0
    value, *ends = (
        None if x is None else factor * float(x)  # type: ignore[arg-type]
        for x in (record.value, record.low, record.high)
    )
    assert value is not None
    low, high = ends
    if low is None or high is None or high <= low:
        return rounded(value, 0)
    return f"{rounded(value, 0)} ({rounded(low, 0)} to {rounded(high, 0)})"


def _expected(records: Sequence[Record], quantity: str) -> list[Record]:
    """Return the records of a quantity in the expected attitude, in the order of the winds."""
    return [r for r in select(records, quantity) if "attitude" not in r.at]


def _told_first(reaches: Sequence[Record]) -> list[Record]:
    """Return the first wind and the first one from ahead that blows."""
    ahead = [r for r in reaches[1:] if r.at["wind_from"] == 0.0 and r.at["wind"]]
    return [reaches[0], *ahead[:1]]


def _at(records: Sequence[Record], quantity: str, reach: Record) -> Record | None:
    found = [r for r in select(records, quantity, **reach.at) if "attitude" not in r.at]
    return found[0] if found else None


def _row(name: str, *cells: str) -> str:
    first, *rest = cells
    return f"  {name:<{NAME_CELL}}{first:<{WIDE_CELL}}" + "".join(f"{c:<{CELL}}" for c in rest)
