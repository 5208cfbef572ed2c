"""With what types a kernel is called, as text that a file can keep.

``f8`` is a number, ``f8:2C`` an array of two dimensions in C order, ``b1`` a truth value; a named
tuple is its class and its fields, a plain tuple a list.
"""

# The compiler's own modules carry few types.
# mypy: disable-error-code="no-untyped-call, attr-defined, assignment, misc, call-overload"

from __future__ import annotations

import importlib
from typing import Any

from numba import types

Text = str | list[Any] | dict[str, Any]

SCALARS = {
    "f8": types.float64,
    "f4": types.float32,
    "c16": types.complex128,
    "i8": types.int64,
    "i4": types.int32,
    "b1": types.boolean,
    "none": types.none,
}


def text_of(kind: Any) -> Text:
    """Return the text of a type.

    Raises
    ------
    KeyError
        No text stands for it.
    """
    if isinstance(kind, types.Array):
        plain = text_of(kind.dtype)
        return f"{plain}:{kind.ndim}{kind.layout}{'' if kind.mutable else 'r'}"
    if isinstance(kind, types.BaseNamedTuple):
        of = kind.instance_class
        name = f"{of.__module__}:{of.__qualname__}"
        return {"tuple": name, "of": [text_of(field) for field in kind]}
    if isinstance(kind, types.BaseTuple):
        return [text_of(field) for field in kind]
    return {value: key for key, value in SCALARS.items()}[kind]


def type_of(text: Text) -> Any:
    """Return the type that a text stands for."""
    if isinstance(text, dict):
        module, name = text["tuple"].split(":")
        kind = getattr(importlib.import_module(module), name)
        return types.BaseTuple.from_types([type_of(field) for field in text["of"]], kind)
    if isinstance(text, list):
        return types.BaseTuple.from_types([type_of(field) for field in text])
    plain, _, shape = text.partition(":")
    if not shape:
        return SCALARS[plain]
    return types.Array(SCALARS[plain], int(shape[0]), shape[1], readonly=shape.endswith("r"))
