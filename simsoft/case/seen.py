"""``[[seen]]``: what the bait in hand did, each look with its doubt."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from simsoft.case.brief import limit, names_of
from simsoft.case.observed import AT_A_SPEED, BY_EYE, GOES, SEEABLE, STAYS, Seen
from simsoft.case.schema import SeenTable
from simsoft.case.units import QuantityError, parse
from simsoft.case.wording import Problem, given
from simsoft.core.quantities import words

WORDS = (*GOES, *STAYS)
MOST_DOUBT = 1.0  # relative: a wider look says nothing
LEAST_DOUBT = 1e-3


def check_seen(raw: dict[str, Any]) -> Iterator[Problem]:
    """Yield the problems of what was seen, on the tables as the user wrote them."""
    tables = raw.get("seen")
    names = names_of(raw)
    for number, table in enumerate(tables if isinstance(tables, list) else []):
        if isinstance(table, dict):
            for key, text in _look(table, names):
                yield Problem(("seen", number, key) if key else ("seen", number), text)


def _look(table: dict[str, Any], names: dict[str, list[str]]) -> Iterator[tuple[str, str]]:
    quantity = table.get("quantity")
    if not isinstance(quantity, str) or quantity not in SEEABLE:
        return
    if quantity == "verdict":
        yield from _verdict(table)
    else:
        yield from _number(table, quantity)
    if quantity in AT_A_SPEED and "speed" not in table:
        yield "speed", 'missing; at what speed it was seen is needed, such as "0.3 m/s"'
    if quantity not in AT_A_SPEED and "speed" in table:
        word = words(quantity)
        yield "speed", f"{given(table['speed'])} says nothing about a {word}; leave it out"
    for key in ("scenario", "part"):
        name = table.get(key)
        if isinstance(name, str) and not any(name.startswith(one) for one in names[key]):
            shown = ", ".join(names[key]) or "none"
            yield key, f"{given(name)} is not in the case; {key}s are {shown}"


def _verdict(table: dict[str, Any]) -> Iterator[tuple[str, str]]:
    if "value" in table:
        yield "value", f'{given(table["value"])} is no verdict; give `equals`, such as "kicks"'
    if table.get("equals") not in WORDS:
        told = "missing" if "equals" not in table else f"{given(table['equals'])} is not allowed"
        yield "equals", f"{told}; one of {', '.join(WORDS)} is needed"
    yield from _doubt(table, "verdict", None)


def _number(table: dict[str, Any], quantity: str) -> Iterator[tuple[str, str]]:
    unit = SEEABLE[quantity]
    if "equals" in table:
        yield "equals", f"{given(quantity)} is a number; give `value`"
    if "value" not in table:
        yield "value", f"missing; what was seen is needed, a quantity in {unit}"
        return
    try:
        value = limit(table["value"], unit)
    except ValueError as problem:
        yield "value", str(problem)
        return
    if not value > 0.0:
        yield "value", f"{given(table['value'])} is not above zero"
        return
    yield from _doubt(table, quantity, value)


def _doubt(table: dict[str, Any], quantity: str, value: float | None) -> Iterator[tuple[str, str]]:
    if "doubt" not in table:
        if table.get("by") != "eye":
            yield (
                "doubt",
                (
                    'missing; no number without its doubt: give `doubt`, such as "10 %", or '
                    f'`by = "eye"`, which takes {100 * BY_EYE[quantity]:.0f} %'
                ),
            )
        return
    try:
        share = relative(table["doubt"], quantity, value)
    except ValueError as problem:
        yield "doubt", str(problem)
        return
    if not LEAST_DOUBT <= share <= MOST_DOUBT:
        yield (
            "doubt",
            (
                f"{given(table['doubt'])} is {100 * share:.3g} % of what was seen; allowed is "
                f"{100 * LEAST_DOUBT:g} to {100 * MOST_DOUBT:g} %"
            ),
        )


def relative(raw: Any, quantity: str, value: float | None) -> float:
    """Return a doubt as a share of what was seen; ValueError with the complaint."""
    if isinstance(raw, int | float) and not isinstance(raw, bool):
        return float(raw)
    if isinstance(raw, str):
        unit = SEEABLE[quantity]
        try:
            return parse(raw, "dimensionless")
        except QuantityError:
            if value is not None:
                return limit(raw, unit) / value
    raise ValueError(f'{given(raw)} is no share; one such as "10 %" is needed')


def looks(tables: list[SeenTable]) -> tuple[Seen, ...]:
    """Return what was seen, from checked tables."""
    return tuple(_build(table) for table in tables)


def _build(table: SeenTable) -> Seen:
    quantity = table.quantity
    value = None if table.value is None else limit(table.value, SEEABLE[quantity])
    doubt = BY_EYE[quantity]
    if table.doubt is not None:
        doubt = relative(table.doubt, quantity, value)
    return Seen(
        quantity=quantity,
        value=value,
        doubt=doubt,
        by=table.by or "measured",
        equals=table.equals,
        scenario=table.scenario,
        part=table.part,
        speed=table.speed,
        temperature=table.temperature,
    )
