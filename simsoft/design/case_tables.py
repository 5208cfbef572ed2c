"""Look into the tables of a case by dotted path, as the overrides write them."""

from __future__ import annotations

from typing import Any

from simsoft.design.text_number import Quantity, read_quantity


def value_at(tables: dict[str, Any], path: str) -> Any:
    """Return the raw value at a dotted path, entries of lists by name; None where none is."""
    here: Any = tables
    for step in path.split("."):
        if isinstance(here, list):
            here = next((t for t in here if isinstance(t, dict) and t.get("name") == step), None)
        elif isinstance(here, dict):
            here = here.get(step)
        else:
            return None
    return here


def quantities(value: Any) -> list[Quantity]:
    """Return the numbers of a raw value: one, a list, or a table along the length."""
    if isinstance(value, dict):
        value = value.get("value", [])
    items = value if isinstance(value, list) else [value]
    found = [read_quantity(str(item)) for item in items if not isinstance(item, bool)]
    return [quantity for quantity in found if quantity is not None]


def replaced(value: Any, numbers: list[Quantity]) -> str:
    """Return a raw value as the text of an override, its numbers replaced in order."""

    def written(quantity: Quantity) -> str:
        return f'"{quantity.text}"' if quantity.unit else quantity.text

    if isinstance(value, dict):
        at = ", ".join(str(item) for item in value.get("at", []))
        return f"{{ at = [{at}], value = [{', '.join(map(written, numbers))}] }}"
    if isinstance(value, list):
        return f"[{', '.join(map(written, numbers))}]"
    return numbers[0].text
