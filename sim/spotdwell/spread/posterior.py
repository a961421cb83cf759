"""Posterior: joint draws of the values that published rows see, shipped as a table (THEORY.md, Posterior)."""

from __future__ import annotations

import csv
import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell import library
from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.inputs.material import with_borrowed
from spotdwell.inputs.toml import text_in
from spotdwell.measure.verdict import Measures
from spotdwell.spread.sampling import SLOPE, Unknown, latin_hypercube, samples_of, student_of_4

Array = NDArray[np.float64]

FILE = "posterior.csv"
LEFT_OUT = "left out"
"""Column that is no material value: what the model leaves out of a row, as a logarithm; the scale of a
Student's t of 4 degrees of freedom."""
TIMES = 16
"""Times that each sample counts, with another part of what the model leaves out: that costs no run."""
_SAME = 1e-9


@dataclass(frozen=True)
class Column:
    """One value over all draws."""

    file: str
    """Material, family or table of water that states the value."""
    entry: str
    """Its key there, a line's wavelength behind the table's name: "debris.2.94 um"."""
    unit: str
    """As in that file."""
    values: tuple[float, ...]

    def holds(self, unknown: Unknown) -> bool:
        """Whether `unknown` is this very value, as shipped: a changed one is somebody's own."""
        if self.file == library.WATER_OPTICS:
            return unknown.key == SLOPE and _same_entry(self.entry.replace("slope", "absorption"), unknown)
        if unknown.key == SLOPE or not _same_entry(self.entry, unknown):
            return False
        shipped = type(unknown.item).model_validate(_row(self.file, self.entry))
        if unknown.item.source != shipped.source:
            return False
        stated = (*(shipped.range or ()), shipped.value)
        own = (*(unknown.item.range or ()), unknown.item.value)
        return len(stated) == len(own) and all(map(_alike, stated, own))

    def in_si(self, unit: str) -> Array:
        """Values in the SI `unit`."""
        values = np.array(self.values)
        if not self.unit:
            return values
        zero, one = (
            units.parse(f"{at} {self.unit}", unit, where=FILE, example=f"1 {self.unit}") for at in (0, 1)
        )
        return np.asarray(zero + (one - zero) * values)


@dataclass(frozen=True)
class Posterior:
    """Draws that belong together, row by row."""

    columns: tuple[Column, ...]
    left_out: tuple[float, ...]
    """Scale of what the model leaves out, as a logarithm, in each draw."""

    def matching(self, unknowns: Sequence[Unknown]) -> tuple[Column | None, ...]:
        """Column of each unknown that rows saw; None for the others.

        A material of which rows saw nothing but its water was not in them: it has none.
        """
        found = [next((one for one in self.columns if one.holds(unknown)), None) for unknown in unknowns]
        known = {
            unknown.material
            for unknown, column in zip(unknowns, found, strict=True)
            if column is not None and column.file != library.WATER_OPTICS
        }
        return tuple(
            column if unknown.material in known else None
            for unknown, column in zip(unknowns, found, strict=True)
        )


@lru_cache(maxsize=1)
def posterior() -> Posterior:
    """The shipped table. Raises InputError if it is missing or damaged."""
    path = library.folder(library.Shelf.MATERIALS) / FILE
    text = text_in(path, "the table of joint draws", advice="Install the package again.")
    lines = [line for line in csv.reader(text.splitlines()) if line and not line[0].startswith("#")]
    try:
        heads, numbers = lines[0], np.array(lines[1:], dtype=float)
        columns = [_column(head, values) for head, values in zip(heads, numbers.T, strict=True)]
    except (ValueError, IndexError):
        raise InputError(str(path), "rows of numbers below names with units", "something else") from None
    left_out = next((one.values for one in columns if one.entry == LEFT_OUT), None)
    if left_out is None or not np.all(np.isfinite(numbers)):
        raise InputError(str(path), f'finite numbers, with a column "{LEFT_OUT} [log]"', "something else")
    return Posterior(tuple(one for one in columns if one.file), left_out)


@dataclass(frozen=True, eq=False)
class Draws:
    """Sampled values, and by what factor the model may miss."""

    inputs: Array
    """[SI], shape (samples, unknowns)."""
    joint: tuple[bool, ...]
    """Which unknowns were drawn together, from the posterior; the others from their own ranges."""
    removal: Array
    """Factors by which the model may miss what is removed [-], shape (samples, times)."""
    layers: Array
    """The same of the thickness of layers that are left."""

    @classmethod
    def apart(cls, inputs: Array) -> Draws:
        """`inputs` drawn each from its own range, of which no published row knows."""
        once = np.ones((len(inputs), 1))
        return cls(inputs, (False,) * inputs.shape[1], once, once)


def draws_of(unknowns: Sequence[Unknown], count: int, seed: int) -> Draws:
    """`count` samples: of values that published rows saw whole rows of the table, of others their ranges.

    What the model leaves out is drawn only where values come from the table: it was found on the same rows.
    The same seed gives the same samples.
    """
    inputs = samples_of(unknowns, count, seed)
    columns = posterior().matching(unknowns)
    joint = tuple(one is not None for one in columns)
    if not any(joint):
        return Draws.apart(inputs)
    rng = np.random.default_rng([seed, 1])
    size = len(posterior().left_out)
    rows = np.concatenate([rng.permutation(size) for _ in range(-(-count // size))])[:count]
    for place, (column, unknown) in enumerate(zip(columns, unknowns, strict=True)):
        if column is not None:
            inputs[:, place] = np.clip(column.in_si(unknown.unit)[rows], unknown.low, unknown.high)
    deviates = student_of_4(latin_hypercube(rng, count * TIMES, 2))
    scales = np.array(posterior().left_out)[rows, None, None]
    factors = np.exp(scales * deviates.reshape(count, TIMES, 2))
    return Draws(inputs, joint, factors[:, :, 0], factors[:, :, 1])


def missed(measures: Measures, removal: float, layers: float) -> dict[str, float | None]:
    """`measures` with what is removed `removal` times, and layers that are left `layers` times as much."""
    factors = dict.fromkeys(_REMOVED, removal) | dict.fromkeys(_LAYERS, layers)
    factors |= {"energy_per_removed_volume": 1.0 / removal, "char_per_removed_volume": layers / removal}
    return {
        name: None if value is None else value * factors.get(name, 1.0) for name, value in measures.items()
    }


_REMOVED = ("crater_depth", "deepest", "crater_volume", "solid_volume", "crater_mass")
_LAYERS = (
    "char_volume",
    *(
        f"{zone}_thickness_{place}"
        for zone in ("char", "dried", "coagulation")
        for place in ("floor", "wall", "rim")
    ),
)


def _column(head: str, values: Array) -> Column:
    name, _, unit = head.rpartition(" [")
    file, _, entry = name.rpartition(": ")
    unit = unit.removesuffix("]")
    return Column(file, entry, "" if unit in ("1", "log") else unit, tuple(float(one) for one in values))


def _same_entry(entry: str, unknown: Unknown) -> bool:
    table, _, line = entry.partition(".")
    if table not in ("absorption", "debris"):
        return ".".join(str(part) for part in unknown.path) == entry
    wavelength = getattr(unknown.item, "wavelength", None)
    if unknown.path[0] != table or wavelength is None:
        return False
    return _alike(float(wavelength), units.parse(line, "m", where=FILE, example="10.6 um"))


def _alike(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=_SAME, abs_tol=0.0)


@lru_cache(maxsize=256)
def _row(file: str, entry: str) -> dict[str, Any]:
    """Table of a value in a shipped file, with what it borrows."""
    found: Any = _shipped(file)
    table, _, line = entry.partition(".")
    if table in ("absorption", "debris"):
        return dict(next(one for one in found[table] if one["wavelength"] == line))
    for part in entry.split("."):
        found = found[part]
    return dict(found)


@lru_cache
def _shipped(file: str) -> dict[str, Any]:
    """Tables of a shipped file, with what they borrow."""
    return dict(with_borrowed(tomllib.loads(library.text(library.Shelf.MATERIALS, file))))
