"""Records looked up by name and speed, as columns, and as a table of a notebook's page."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from html import escape
from typing import Any

from simsoft.results.record import Record, select

Key = str | tuple[str, float]
SHOWN = (
    "start_speed",
    "flap_frequency",
    "stroke",
    "edge_to_edge",
    "sink_rate",
    "natural_frequency",
)


def found(records: Sequence[Record], key: Key) -> Record:
    """Return the first record of a quantity, or of a quantity at a speed [m/s].

    Raises
    ------
    KeyError
        There is none; the message names what is close.
    """
    quantity, at = (key, {}) if isinstance(key, str) else (key[0], {"speed": key[1]})
    matches = select(records, quantity, **at)
    if matches:
        return matches[0]
    known = sorted({record.quantity for record in records})
    if quantity in known:
        speeds = sorted({r.at["speed"] for r in select(records, quantity) if "speed" in r.at})
        raise KeyError(f"{quantity} at {at['speed']} m/s; there are {speeds} m/s")
    near = get_close_matches(quantity, known, 3) or known
    raise KeyError(f"{quantity}; there are {', '.join(near)}")


def columns(records: Sequence[Record], quantities: Sequence[str], by: str) -> dict[str, list[Any]]:
    """Return columns of equal length: conditions, then value, low and high of each quantity.

    Parameters
    ----------
    records : sequence of Record
    quantities : sequence of str
    by : str, the condition that makes the rows, such as ``speed``

    Returns
    -------
    columns : dict of lists in SI units, which a data frame takes as it is; None where no number is
    """
    rows = list(
        dict.fromkeys(
            (r.scenario, r.part, r.at[by])
            for quantity in quantities
            for r in select(records, quantity)
            if set(r.at) == {by}
        )
    )
    made: dict[str, list[Any]] = {
        name: [row[i] for row in rows] for i, name in enumerate(("scenario", "part", by))
    }
    for quantity in quantities:
        mine = {
            (r.scenario, r.part, r.at[by]): r
            for r in select(records, quantity)
            if set(r.at) == {by}
        }
        for column, name in (("value", quantity), ("low", f"{quantity}_low"),
                             ("high", f"{quantity}_high")):  # fmt: skip
            made[name] = [getattr(mine[row], column) if row in mine else None for row in rows]
    return made


def record_line(record: Record) -> str:
    """Return a record in one line: what, where, number with its band."""
    where = _where(record)
    of = f"{record.part or 'whole lure'} {record.quantity}" + (f" at {where}" if where else "")
    return f"{of}: {_number(record)}"


def _where(record: Record) -> str:
    return ", ".join(
        f"{name} {value:g}" if isinstance(value, float) else f"{name} {value}"
        for name, value in record.at.items()
    )


def _number(record: Record) -> str:
    """Return the number of a record with band and unit, or why there is none."""
    value = record.value
    if not isinstance(value, float):
        return str(value) if value is not None else f"none, {record.reason}"
    text = f"{value:.4g}"
    if isinstance(record.low, float):
        high = f"{record.high:.4g}" if isinstance(record.high, float) else "no upper bound"
        text += f" ({record.low:.4g} to {high})"
    return f"{text} {record.unit}".strip()


def headline_records(records: Sequence[Record]) -> list[Record]:
    """Return the records that a one-line summary shows, the first of each quantity."""
    return [matches[0] for quantity in SHOWN if (matches := select(records, quantity))]


def summary_page(title: str, records: Sequence[Record], warnings: Sequence[str]) -> str:
    """Return title, headline numbers by speed and warnings as HTML; every text is escaped."""
    shown = [r for r in records if r.quantity in SHOWN and set(r.at) <= {"speed", "medium", "mode"}]
    rows = "".join(
        f"<tr><td>{escape(r.scenario)}</td><td>{escape(r.part)}</td><td>{escape(r.quantity)}</td>"
        f"<td>{escape(_where(r))}</td><td>{escape(_number(r))}</td></tr>"
        for r in shown
    )
    told = "".join(f"<li>{escape(warning)}</li>" for warning in warnings)
    return f"<b>{escape(title)}</b><table>{rows}</table><ul>{told}</ul>"
