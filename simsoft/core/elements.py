"""One element of an array, read and written in few instructions of intermediate code.

The compiler lays the array's whole description down, takes it up again field by field and works out
steps along all axes, some forty instructions an element. The optimiser leaves four of them, but
until then they are written, read and looked through. Here the address is put together at once.
"""

# The compiler's own modules carry few types.
# mypy: disable-error-code="no-untyped-call, attr-defined, misc"

from __future__ import annotations

import operator
from typing import Any

from llvmlite import ir
from numba.core import cgutils, types
from numba.core.imputils import lower_builtin
from numba.np import arrayobj

DATA, SHAPE, STRIDES = 4, 5, 6  # fields of an array's description
PLAIN = (types.Float, types.Integer, types.Complex)


def indices_of(array: Any, index: Any) -> Any:
    """Return the types of the indices where they denote one element of a plain array."""
    kinds = index.types if isinstance(index, types.BaseTuple) else (index,)
    whole = all(isinstance(kind, types.Integer) and kind.bitwidth == 64 for kind in kinds)
    plain = isinstance(array.dtype, PLAIN) and array.layout in "CA" and array.aligned
    return kinds if whole and plain and len(kinds) == array.ndim > 0 else None


def address(builder: Any, array: Any, value: Any, kinds: Any, index: Any, in_tuple: bool) -> Any:
    """Return the code for the address of an element.

    Parameters
    ----------
    array, value : type and description of the array
    kinds, index : types of the indices, and the index or the tuple of all
    """
    data, place = builder.extract_value(value, DATA), None
    for axis, kind in enumerate(kinds):
        at = part(builder, index, axis) if in_tuple else index
        if kind.signed and not (isinstance(at, ir.Constant) and at.constant >= 0):
            beyond = builder.add(at, builder.extract_value(value, [SHAPE, axis]))
            at = builder.select(builder.icmp_signed("<", at, at.type(0)), beyond, at)
        if array.layout == "A":
            at = builder.mul(at, builder.extract_value(value, [STRIDES, axis]))
        elif place is not None:
            place = builder.mul(place, builder.extract_value(value, [SHAPE, axis]))
        place = at if place is None else builder.add(place, at)
    if array.layout == "A":
        return cgutils.pointer_add(builder, data, place)
    return builder.gep(data, [place])


def part(builder: Any, whole: Any, place: int) -> Any:
    """Return a field of a tuple, that which was put in where the code has just done so."""
    found = whole
    while isinstance(found, ir.instructions.InsertValue):
        if tuple(found.indices) == (place,):
            return found.operands[1]
        found = found.operands[0]
    return builder.extract_value(whole, place)


@lower_builtin(operator.getitem, types.Array, types.Integer)
@lower_builtin(operator.getitem, types.Array, types.BaseTuple)
def read(context: Any, builder: Any, signature: Any, values: Any) -> Any:
    """Return the code that reads what an index denotes."""
    array, index = signature.args
    kinds, in_tuple = indices_of(array, index), isinstance(index, types.BaseTuple)
    if kinds is None:
        usual = arrayobj.getitem_array_tuple if in_tuple else arrayobj.getitem_arraynd_intp
        return usual(context, builder, signature, values)
    spot = address(builder, array, values[0], kinds, values[1], in_tuple)
    return arrayobj.load_item(context, builder, array, spot)


@lower_builtin(operator.setitem, types.Array, types.Integer, types.Any)
@lower_builtin(operator.setitem, types.Array, types.BaseTuple, types.Any)
def write(context: Any, builder: Any, signature: Any, values: Any) -> None:
    """Make the code that writes where an index denotes."""
    array, index, kind = signature.args
    kinds, in_tuple = indices_of(array, index), isinstance(index, types.BaseTuple)
    if kinds is None or isinstance(kind, types.Array):
        arrayobj.setitem_array(context, builder, signature, values)
        return
    spot = address(builder, array, values[0], kinds, values[1], in_tuple)
    value = context.cast(builder, values[2], kind, array.dtype)
    arrayobj.store_item(context, builder, array, value, spot)
