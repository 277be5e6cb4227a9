"""NumPy structured types as kernels see them: plain memory at an address.

numba's own view of an array inside a record is an array with header and reference count, made anew at each access; most of
what it would have to compile were such headers. Here a field is where it lies, and an index goes straight to its number.
Indices are not checked and do not count from the end.
"""

from __future__ import annotations

import operator

import numpy as np
from llvmlite import ir
from numba.core import types
from numba.core.typing.templates import (
    AbstractTemplate,
    AttributeTemplate,
    infer_getattr,
    infer_global,
    signature,
)
from numba.extending import (
    lower_builtin,
    lower_getattr_generic,
    lower_setattr_generic,
    models,
    register_model,
)
from numba.np.numpy_support import from_dtype


class Record(types.Type):
    """A record of a structured dtype; name tells it from others."""

    def __init__(self, name: str, dtype: np.dtype):
        self.dtype = dtype
        super().__init__(name)


class Field(types.Type):
    """An array of fixed shape within a record."""

    def __init__(self, element: types.Type, shape: tuple[int, ...], size: int):
        self.element, self.shape, self.size = element, shape, size
        super().__init__(f"{element}{list(shape)}")


register_model(Record)(models.OpaqueModel)
register_model(Field)(models.OpaqueModel)
_known: dict[np.dtype, Record] = {}


def record(name: str, dtype: np.dtype) -> Record:
    """The record type of that dtype; records within it come first."""
    return _known.setdefault(dtype, Record(name, dtype))


def _element(dtype: np.dtype) -> types.Type:
    return _known[dtype] if dtype.names else from_dtype(dtype)


@infer_getattr
class _Attributes(AttributeTemplate):
    key = Record

    def generic_resolve(self, kind, name):
        dtype = kind.dtype.fields[name][0]
        if dtype.subdtype is None:
            return _element(dtype)
        base, shape = dtype.subdtype
        return Field(_element(base), shape, base.itemsize)


@infer_global(operator.getitem)
class _Read(AbstractTemplate):
    def generic(self, args, keywords):
        if isinstance(args[0], Field) and _indices(args[1]) == len(args[0].shape):
            return signature(args[0].element, *args)


@infer_global(operator.setitem)
class _Write(AbstractTemplate):
    def generic(self, args, keywords):
        if isinstance(args[0], Field) and _indices(args[1]) == len(args[0].shape):
            return signature(types.none, args[0], args[1], args[0].element)


def _indices(kind: types.Type) -> int:
    return len(kind) if isinstance(kind, types.BaseTuple) else 1


def _read(context, builder, kind, address):
    if isinstance(kind, (Record, Field)):
        return address
    return builder.load(builder.bitcast(address, context.get_value_type(kind).as_pointer()))


def _write(context, builder, kind, value, address):
    builder.store(value, builder.bitcast(address, context.get_value_type(kind).as_pointer()))


def _field(builder, kind, address, name):
    return builder.gep(address, [ir.Constant(ir.IntType(64), kind.dtype.fields[name][1])], inbounds=True)


def _place(context, builder, kind, address, index_type, index):
    """Address of an element; index is an integer or a tuple of as many as the field has dimensions."""
    if isinstance(index_type, types.BaseTuple):
        indices = zip(index_type, [builder.extract_value(index, k) for k in range(len(index_type))], strict=True)
    else:
        indices = [(index_type, index)]
    memory = ir.ArrayType(ir.IntType(8), kind.size)
    for length in reversed(kind.shape):
        memory = ir.ArrayType(memory, length)
    whole = [context.cast(builder, each, its, types.intp) for its, each in indices]
    start = builder.bitcast(address, memory.as_pointer())
    return builder.bitcast(builder.gep(start, [ir.Constant(ir.IntType(64), 0), *whole], inbounds=True), address.type)


@lower_getattr_generic(Record)
def _get_attribute(context, builder, kind, address, name):
    found = _Attributes(context.typing_context).generic_resolve(kind, name)
    return _read(context, builder, found, _field(builder, kind, address, name))


@lower_setattr_generic(Record)
def _set_attribute(context, builder, given, arguments, name):
    address, value = arguments
    _write(context, builder, given.args[1], value, _field(builder, given.args[0], address, name))


@lower_builtin(operator.getitem, Field, types.Any)
def _get_item(context, builder, given, arguments):
    kind, index_type = given.args
    place = _place(context, builder, kind, arguments[0], index_type, arguments[1])
    return _read(context, builder, given.return_type, place)


@lower_builtin(operator.setitem, Field, types.Any, types.Any)
def _set_item(context, builder, given, arguments):
    kind, index_type, value_type = given.args
    place = _place(context, builder, kind, arguments[0], index_type, arguments[1])
    _write(context, builder, kind.element, context.cast(builder, arguments[2], value_type, kind.element), place)
    return context.get_dummy_value()
