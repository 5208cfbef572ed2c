"""Named tuples as kernels hand them on: where they lie, not what is in them.

The compiler takes a named tuple apart at every call: of a rod and its scratch arrays it makes some
three hundred arguments, and puts them together again in the kernel that is called. Half of all its
code was that. A reference is one argument, and a field is read where it is asked for. What it
refers to lies in the frame of the kernel that made the tuple, which ends last: a kernel that keeps
a tuple it was given, in a list say, keeps the ``whole`` of it. The compiler refuses the rest.
"""

# The compiler's own modules carry few types.
# mypy: disable-error-code="no-untyped-call, override, attr-defined, misc"

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from functools import cache
from typing import Any

from llvmlite import ir
from numba.core import cgutils, types
from numba.core.datamodel import models, register_default
from numba.core.errors import TypingError
from numba.core.imputils import (
    impl_ret_borrowed,
    lower_builtin,
    lower_cast,
    lower_getattr_generic,
)
from numba.core.pythonapi import NativeValue, unbox
from numba.core.typeconv import Conversion
from numba.core.typing.templates import AttributeTemplate, infer_getattr
from numba.extending import type_callable

MARK = "where."  # in the names of references, and of what holds some
BYTE, OFFSET = ir.IntType(8), ir.IntType(64)


class Reference(types.Type):
    """The type of a place where a named tuple lies."""

    def __init__(self, of: Any) -> None:
        self.of = of
        digest = hashlib.sha256(of.name.encode()).hexdigest()[:12]  # short names, less text
        super().__init__(f"{MARK}{of.instance_class.__name__}.{digest}")

    def can_convert_from(self, typingctx: Any, other: Any) -> Any:
        """Return how a kernel that asks for this may be given another type."""
        return Conversion.safe if other == self.of else None


def handed(kind: Any) -> Any:
    """Return the type as which a kernel is given what has a type.

    A constant is a value like others, or a kernel would be compiled anew for every one of them.
    """
    return Reference(kind) if isinstance(kind, types.NamedTuple) else types.unliteral(kind)


def check_kept(kinds: Iterable[Any], returned: Any) -> None:
    """Raise TypingError where a kernel keeps a reference beyond its own end.

    Parameters
    ----------
    kinds : types of all its variables
    returned : type of what it returns
    """
    for kind in (*kinds, types.Tuple([returned])):
        if isinstance(kind, (types.BaseTuple, types.Container)) and MARK in kind.name:
            raise TypingError(f"a named tuple is kept that may be gone: write whole(...): {kind}")


def whole(found: Any) -> Any:
    """Return a named tuple itself, in a kernel that was given it by reference."""
    return found


@type_callable(whole)
def whole_type(context: Any) -> Any:
    """Return what the compiler asks for the type of a ``whole``."""
    return lambda found: found.of if isinstance(found, Reference) else found


@lower_builtin(whole, types.Any)
def whole_value(context: Any, builder: Any, signature: Any, values: Any) -> Any:
    """Return the code that reads all fields."""
    (value,), kind = values, signature.return_type
    if isinstance(signature.args[0], Reference):
        value = builder.load(value, typ=context.get_value_type(kind))
    return impl_ret_borrowed(context, builder, kind, value)


@register_default(Reference)
class ReferenceModel(models.PrimitiveModel):
    """A reference in machine code: an address at which nobody writes meanwhile."""

    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, cgutils.voidptr_t)

    def from_argument(self, builder: Any, value: Any) -> Any:
        """Return the address; the optimiser may keep in registers what it has read there."""
        value.add_attribute("noalias")
        return value


@infer_getattr
class Fields(AttributeTemplate):
    """What the fields of a tuple are, seen through a reference."""

    key = Reference

    def generic_resolve(self, reference: Any, name: str) -> Any:
        """Return the type of a field, None for a name that there is not."""
        of = reference.of
        return handed(of.types[of.fields.index(name)]) if name in of.fields else None


@lower_getattr_generic(Reference)
def field(context: Any, builder: Any, reference: Any, place: Any, name: str) -> Any:
    """Return the code that reads a field."""
    index = reference.of.fields.index(name)
    kind = reference.of.types[index]
    spot = builder.gep(place, [OFFSET(offset(context, reference.of, index))], source_etype=BYTE)
    if isinstance(kind, types.NamedTuple):
        return spot
    value = builder.load(spot, typ=context.get_value_type(kind))
    return impl_ret_borrowed(context, builder, kind, value)


@cache
def offset(context: Any, of: Any, index: int) -> int:
    """Return how many bytes into a tuple a field begins."""
    return int(context.get_value_type(of).get_element_offset(context.target_data, index))


@lower_cast(types.NamedTuple, Reference)
def lay(context: Any, builder: Any, of: Any, reference: Any, value: Any) -> Any:
    """Return the code that lays a tuple into the frame of the kernel at hand."""
    return builder.bitcast(cgutils.alloca_once_value(builder, value), cgutils.voidptr_t)


@unbox(Reference)
def taken_from_python(reference: Any, found: Any, c: Any) -> Any:
    """Return the code that lays a tuple of Python's into the frame of the kernel's wrapper."""
    native = c.unbox(reference.of, found)
    place = lay(c.context, c.builder, reference.of, reference, native.value)

    def given_back() -> None:
        """Let go of the arrays: the compiler does not see them behind a reference."""
        if native.cleanup is not None:
            native.cleanup()
        if c.context.enable_nrt:
            c.context.nrt.decref(c.builder, reference.of, native.value)

    return NativeValue(place, is_error=native.is_error, cleanup=given_back)
