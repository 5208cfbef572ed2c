"""The whole lure in the text report: what it weighs, where, and whether it sinks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simsoft.report.units import LengthUnit, band_numbers, show, user_unit
from simsoft.results.record import Record, select

NAME_CELL = 22
CELL = 24
LEAD = (
    "  Lead poisons: wash hands, no food near it, never heat it wet or indoors. Many",
    "  waters restrict small lead weights; local rules decide.",
)


def sinks(net: Record) -> str:
    """Return what a net weight in water [N] means: 'sinks', 'floats', or that it may do either."""
    value, low, high = net.value, net.low, net.high
    if not isinstance(value, float):
        raise TypeError(f"record {net.quantity!r} is not a number")
    if isinstance(low, float) and isinstance(high, float) and low < 0.0 < high:
        return "may float or sink"
    return "floats" if value < 0.0 else "sinks"


def whole_line(records: Sequence[Record], length_unit: LengthUnit) -> str:
    """Return the answer about the whole lure in one sentence.

    Parameters
    ----------
    records : sequence of Record of the scenario ""
    length_unit : 'mm' or 'inch'
    """
    (mass,), (net,) = (_of("", records, name) for name in ("mass", "net_weight"))
    return (
        f"whole lure weighs {show(mass, length_unit)} and {sinks(net)}: "
        f"{show(net, length_unit)} in water."
    )


def whole_table(
    records: Sequence[Record], length_unit: LengthUnit, *, lead: bool = False
) -> Iterator[str]:
    """Yield the lines of the table of pieces and of the facts about the whole.

    Parameters
    ----------
    records : sequence of Record of the scenario ""
    length_unit : 'mm' or 'inch'
    lead : bool, a weight is of lead
    """
    columns = [select(records, quantity) for quantity in ("mass", "volume")]
    units = [user_unit(column[0].unit, length_unit)[1] for column in columns]
    yield _row("piece", f"mass [{units[0]}]", f"volume [{units[1]}]")
    pieces = dict.fromkeys(r.part for r in columns[0] if r.part)
    for part in (*pieces, ""):
        cells = [band_numbers(_of(part, c, c[0].quantity)[0], length_unit)[0] for c in columns]
        yield _row(part or "together", *cells)
    yield ""
    for quantity, label in (
        ("net_weight", "net weight in water"),
        ("centre_of_mass", "centre of mass"),
        ("centre_of_buoyancy", "centre of buoyancy"),
        ("length", "length"),
        ("projected_area", "seen end on, from the side, from above"),
    ):
        (record,) = _of("", records, quantity)
        tail = f", {sinks(record)}" if quantity == "net_weight" else ""
        where = " from the nose" if quantity.startswith("centre") else ""
        yield f"  {label}: {show(record, length_unit)}{where}{tail}"
    if lead:
        yield from LEAD


def _of(part: str, records: Sequence[Record], quantity: str) -> list[Record]:
    return [record for record in select(records, quantity) if record.part == part]


def _row(name: str, *cells: str) -> str:
    shown = name if len(name) < NAME_CELL else f"{name[: NAME_CELL - 4]}..."
    return f"  {shown:<{NAME_CELL}}" + "".join(f"{cell:<{CELL}}" for cell in cells)
