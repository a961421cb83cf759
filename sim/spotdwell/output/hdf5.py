"""HDF5 read with distrust: no link out of the file, no array that the file cannot hold, no other kinds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import h5py
import numpy as np

from spotdwell.base.foreign import is_clean

DAMAGE = (
    OSError,
    KeyError,
    ValueError,
    RuntimeError,
    TypeError,
    IndexError,
    AttributeError,
    ArithmeticError,
    MemoryError,
)
"""What reading a damaged or foreign file can raise."""

_PACKED = 1100
"""Bytes that one byte of a packed array can stand for (the limit of deflate is 1032)."""


def members(group: h5py.Group) -> Iterator[tuple[str, h5py.Group | h5py.Dataset]]:
    """Name and item of all that is in a group. Raises ValueError for a link to another file or to nothing."""
    for name in group:
        if not isinstance(group.get(name, getlink=True), h5py.HardLink):
            raise ValueError(f"{name} is a link and no array")
        if not is_clean(name):
            raise ValueError("a name has control characters")
        yield name, group[name]


def dataset_of(item: Any, name: str) -> h5py.Dataset:
    """`item`, if it is an array that is wholly in this file. Raises ValueError."""
    if not isinstance(item, h5py.Dataset):
        raise ValueError(f"{name} is no array")
    if item.external is not None or item.is_virtual:
        raise ValueError(f"{name} lies in another file")
    held = item.id.get_storage_size()
    if item.size is None or item.size * item.dtype.itemsize > _PACKED * held:
        raise ValueError(f"{name} is larger than what the file holds")
    return item


def values_of(item: Any, name: str) -> Any:
    """A text, a tuple of texts, a number or an array of 8-byte or whole numbers. Raises ValueError."""
    dataset = dataset_of(item, name)
    if h5py.check_string_dtype(dataset.dtype) is not None:
        texts = dataset.asstr()[()]
        found = tuple(map(str, np.asarray(texts).ravel())) if dataset.ndim else (str(texts),)
        if dataset.ndim > 1 or not all(map(is_clean, found)):
            raise ValueError(f"{name} is no clean text")
        return found if dataset.ndim else found[0]
    if dataset.dtype.kind not in "iuf":
        raise ValueError(f"{name} holds no numbers")
    return dataset[()] if dataset.ndim else float(dataset[()])


def attribute(item: Any, name: str, kind: type) -> Any:
    """The attribute `name`, as a text or a number. Raises ValueError where it is of another kind."""
    value = item.attrs[name]
    value = value.item() if isinstance(value, np.generic) else value
    expected = (int, float) if kind is float else kind
    if not isinstance(value, expected) or (isinstance(value, str) and not is_clean(value)):
        raise ValueError(f"the attribute {name} is no {kind.__name__}")
    return value
