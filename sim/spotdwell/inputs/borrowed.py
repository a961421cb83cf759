"""Values that a material takes from another: `based_on` names it, and what is absent comes from there."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from spotdwell import library
from spotdwell.base.errors import InputError
from spotdwell.inputs.quantities import wrong

KEY = "based_on"
RECORD = "borrowed_from"
"""Key that says in a completed material where the rest came from, so that a copy of it stands alone."""
_OWN = ("title", "about", KEY, RECORD)
"""What a material never takes from another."""
_BY_WAVELENGTH = ("absorption", "debris")
_MOST_STEPS = 4
"""Longest chain of materials based on one another."""


def with_borrowed(table: Any, steps: int = 0) -> Any:
    """`table` of a material, as TOML gives it, with what it lacks from the one that it is `based_on`.

    Tables are completed key by key, absorption and debris line by line, damage processes as a whole. Raises
    PydanticCustomError where there is no such material, or materials are based on one another in a ring.
    """
    if not isinstance(table, Mapping) or not isinstance(name := table.get(KEY), str):
        return table
    if steps == _MOST_STEPS:
        raise wrong(f"a chain of at most {_MOST_STEPS} materials", f'"{name}" after {steps}', key=KEY)
    try:
        text = library.text(library.Shelf.MATERIALS, name)
    except InputError as error:
        raise wrong(error.expected, error.got, error.advice, key=KEY) from None
    base = with_borrowed(tomllib.loads(text), steps + 1)
    own = {key: value for key, value in table.items() if key != KEY} | {RECORD: name}
    return _completed(own, {key: value for key, value in base.items() if key not in _OWN})


def _completed(own: Mapping[str, Any], base: Mapping[str, Any]) -> dict[str, Any]:
    found = dict(own)
    for key, value in base.items():
        if key not in found:
            found[key] = value
        elif key in _BY_WAVELENGTH:
            there = {str(line.get("wavelength")) for line in found[key]}
            found[key] = [*found[key], *(line for line in value if str(line.get("wavelength")) not in there)]
        elif isinstance(value, Mapping) and isinstance(found[key], Mapping) and "value" not in value:
            found[key] = _completed(found[key], value)
    return found
