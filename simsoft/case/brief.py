"""``[[brief]]``: limits read in the unit of their quantity, conditions as the records say them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from simsoft.case import units
from simsoft.case.schema import BriefTable
from simsoft.case.wishes import ALIKE, BETTER, SHARES, WISHED, Clause
from simsoft.case.wording import Problem, given
from simsoft.core.quantities import words as spoken

_EXAMPLES = {
    "m/s": "0.3 m/s",
    "Hz": "4 Hz",
    "m": "8 mm",
    "deg": "40 deg",
    "N": "20 mN",
    "N m": "1 N mm",
    "kg": "8 g",
    "m^3": "8 cm^3",
}


def check_brief(raw: dict[str, Any]) -> Iterator[Problem]:
    """Yield the problems of the clauses of a brief, on the tables as the user wrote them."""
    clauses = raw.get("brief")
    names = names_of(raw)
    for number, table in enumerate(clauses if isinstance(clauses, list) else []):
        if isinstance(table, dict):
            for key, text in _clause(table, names):
                yield Problem(("brief", number, key) if key else ("brief", number), text)


def names_of(raw: dict[str, Any]) -> dict[str, list[str]]:
    """Return the names of the scenarios and parts of a case."""
    return {
        key: [
            entry["name"]
            for entry in raw.get(f"{key}s", [])
            if isinstance(entry, dict) and isinstance(entry.get("name"), str)
        ]
        if isinstance(raw.get(f"{key}s", []), list)
        else []
        for key in ("scenario", "part")
    }


def _clause(table: dict[str, Any], names: dict[str, list[str]]) -> Iterator[tuple[str, str]]:
    quantity = table.get("quantity")
    limits: list[str] = [key for key in ("at_least", "at_most") if key in table]
    compared: list[str] = [key for key in ("better_than", "same_as") if key in table]
    yield from _compared(table, compared, limits)
    if not limits and not compared and "equals" not in table:
        yield "", "wants nothing; `at_least`, `at_most` or, for a verdict, `equals` is needed"
    if limits and "equals" in table:
        yield "equals", "contradicts a limit; give one or the other"
    word = quantity == "verdict"
    if word and limits:
        yield limits[0], 'a verdict is a word; give `equals`, such as "kicks"'
    if not word and "equals" in table:
        yield "equals", f"{given(quantity)} is a number; give `at_least` or `at_most`"
    if not isinstance(quantity, str) or quantity not in WISHED or word:
        return
    found = {}
    for key in limits:
        try:
            found[key] = _limit(table[key], quantity)
        except ValueError as problem:
            yield key, str(problem)
    if len(found) == 2 and found["at_least"] > found["at_most"]:
        yield "at_least", f"{given(table['at_least'])} lies above `at_most`"
    for key in ("scenario", "part"):
        name = table.get(key)
        # mirrored pairs and lobes carry longer names than their part
        known = names[key]
        if isinstance(name, str) and not any(name.startswith(one) for one in known):
            shown = ", ".join(known) or "none"
            yield key, f"{given(name)} is not in the case; {key}s are {shown}"


def _compared(
    table: dict[str, Any], compared: list[str], limits: list[str]
) -> Iterator[tuple[str, str]]:
    """Yield what is wrong with a clause that is told against the bait in hand."""
    if "within" in table and "same_as" not in table:
        yield "within", "says nothing without `same_as`; leave it out"
    if not compared:
        return
    key, quantity = compared[0], table.get("quantity")
    if len(compared) == 2:
        yield key, "contradicts `same_as`; give one or the other"
    if limits or "equals" in table:
        other = (limits or ["equals"])[0]
        yield key, f"stands beside `{other}`; write two clauses"
    if key == "better_than" and quantity in WISHED and quantity not in BETTER:
        known = ", ".join(BETTER)
        yield key, f"which way is better is plain for {known} only; give `at_least` or `at_most`"
    if key == "same_as" and quantity == "verdict":
        yield key, 'a verdict is a word; give `equals`, such as "kicks"'
    if key == "same_as" and quantity in SHARES:
        yield key, "a share of zero has no relative difference; give `at_least` or `at_most`"


def limit(value: Any, unit: str) -> float:
    """Return a limit in the unit of its quantity; ValueError with the complaint."""
    if not unit:
        if isinstance(value, int | float) and not isinstance(value, bool):
            return float(value)
        raise ValueError(f"{given(value, quoted=True)} is not a number; a plain number is needed")
    needed = f'a quantity with its unit is needed, such as "{_EXAMPLES[unit]}"'
    if not isinstance(value, str):
        raise ValueError(f"{given(value)} has no unit; {needed}")
    try:
        return units.parse(value, unit)
    except units.QuantityError as problem:
        raise ValueError(f"{given(value)} {problem}; {needed}") from None


def _limit(value: Any, quantity: str) -> float:
    """Return a limit in the unit of its quantity, of a share as 0..1; ValueError if it is none."""
    if quantity not in SHARES:
        return limit(value, WISHED[quantity])
    try:
        share = units.parse(value, "dimensionless") if isinstance(value, str) else limit(value, "")
    except (units.QuantityError, ValueError):
        share = -1.0
    if not 0.0 <= share <= 1.0:
        raise ValueError(f'{given(value)} is not a share; 0 to 1 is needed, or "0 %" to "100 %"')
    return share


def clauses(tables: list[BriefTable]) -> tuple[Clause, ...]:
    """Return the clauses of checked tables."""
    return tuple(_build(table) for table in tables)


def _build(table: BriefTable) -> Clause:
    quantity = table.quantity
    return Clause(
        name=table.name or _name(table),
        quantity=quantity,
        unit=WISHED[quantity],
        at_least=None if table.at_least is None else _limit(table.at_least, quantity),
        at_most=None if table.at_most is None else _limit(table.at_most, quantity),
        equals=table.equals,
        scenario=table.scenario,
        part=table.part,
        speed=table.speed,
        temperature=table.temperature,
        against="better" if table.better_than else "same" if table.same_as else None,
        within=ALIKE if table.within is None else table.within,
        at={key: _condition(value) for key, value in (table.at or {}).items()},
    )


def _name(table: BriefTable) -> str:
    """Return a name for a clause that the user gave none."""
    words = spoken(table.quantity)
    if table.better_than or table.same_as:
        words += " better than" if table.better_than else " same as"
        words += " the bait in hand"
    if table.speed is not None:
        words += f" at {table.speed:.3g} m/s"
    if table.temperature is not None:
        words += f" in water of {table.temperature - 273.15:.3g} degC"
    return words


def _condition(value: Any) -> float | int | str:
    """Return a condition as the records hold it: SI, angles in degrees, words as they are."""
    if isinstance(value, str):
        for unit in ("m/s", "m", "deg", "K", "s", "Hz", "kg", "N"):
            try:
                return units.parse(value, unit)
            except units.QuantityError:
                continue
        return value
    return value if isinstance(value, int | float) else str(value)
