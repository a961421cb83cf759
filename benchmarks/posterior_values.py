"""Values of the closure that published rows may see: their priors, and the changes that set them."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import triang

from spotdwell.evidence.published_runs import Changes
from spotdwell.inputs.material import with_borrowed
from spotdwell.library import Shelf, text

Array = NDArray[np.float64]

DECADE = 10.0
"""A range whose ends differ by more than this factor is laid on a logarithmic scale."""
FAMILY = "families/moist_tissue"
WATER = "optics/water"
_BORROWERS = ("liver", "muscle")
"""Materials of rows whose rupture temperature is the family's."""


@dataclass(frozen=True)
class Value:
    """One value that may be open, on a scale from 0 to 1 over its range."""

    file: str
    """Shipped material, family or table of water that states it."""
    entry: str
    """Its key there: a line's wavelength stands behind the table's name, as in "debris.2.94 um"."""
    bounds: tuple[float, float] | None = None
    """Where the file states no range."""

    @property
    def name(self) -> str:
        """Column of the table of draws."""
        return f"{self.file}: {self.entry}"

    @cached_property
    def stated(self) -> tuple[float, float, float]:
        """Lowest, stated and highest value, in the file's unit."""
        return self._table[:3]

    @property
    def unit(self) -> str:
        """Of the file; "" for a plain number."""
        return self._table[3]

    @property
    def is_calibrated(self) -> bool:
        """Whether it was fitted to the very rows, so that its stated value may not count again."""
        return self._table[4]

    @property
    def is_logarithmic(self) -> bool:
        low, _, high = self.stated
        return low > 0.0 and high > DECADE * low

    @cached_property
    def _table(self) -> tuple[float, float, float, str, bool]:
        found = _row(self.file, self.entry)
        unit = str(found["value"]).partition(" ")[2] if isinstance(found["value"], str) else ""
        low, high = self.bounds or (_number(one) for one in found["range"])
        return low, _number(found["value"]), high, unit, found.get("basis") == "calibrated"

    def at(self, shares: Array) -> Array:
        """Values at `shares` of the way from the lowest to the highest."""
        low, _, high = self.stated
        if self.is_logarithmic:
            return np.asarray(low * (high / low) ** shares)
        return np.asarray(low + (high - low) * shares)

    @cached_property
    def share(self) -> float:
        """Where the stated value lies between the lowest, 0, and the highest, 1."""
        low, value, high = np.log(self.stated) if self.is_logarithmic else self.stated
        return float((value - low) / (high - low))

    def log_prior(self, shares: Array) -> Array:
        """Logarithm of the prior density over shares, -inf outside.

        Even over the range for what was fitted to these rows, else a triangle whose tip is the stated value.
        """
        inside = (shares >= 0.0) & (shares <= 1.0)
        if self.is_calibrated or self.bounds is not None:
            return np.where(inside, 0.0, -np.inf)
        with np.errstate(divide="ignore"):
            return np.where(inside, triang.logpdf(shares, self.share), -np.inf)

    def from_uniform(self, uniform: Array) -> Array:
        """Shares that follow the prior, from even random numbers."""
        if self.is_calibrated or self.bounds is not None:
            return uniform
        return np.asarray(triang.ppf(uniform, self.share))

    def changes(self, value: float) -> dict[str, str | float]:
        """What sets it in the runs of rows, as `Changes`."""
        written = f"{value!r} {self.unit}" if self.unit else value
        if self.file == WATER:
            return {f"tissue.{self.entry}": written}
        if self.entry.startswith("damage."):
            return {f"skin.{self.entry}": written}  # whose rows alone see it
        if self.file == FAMILY and self.entry == "rupture_temperature":
            return {f"{name}.{self.entry}": written for name in _BORROWERS}
        whose = "tissue" if self.file == FAMILY else self.file
        return {f"{whose}.{self.entry}": written}


def _row(file: str, entry: str) -> dict[str, Any]:
    """The table that holds a value, with keys value, range and basis."""
    table = tomllib.loads(text(Shelf.MATERIALS, file))
    first, _, rest = entry.partition(".")
    if file == WATER:
        line = next(one for one in table["line"] if one["wavelength"] == rest)
        return {"value": line["slope"], "range": line["slope_range"], "basis": line["slope_basis"]}
    found: Any = with_borrowed(table)
    if first in ("absorption", "debris"):
        return dict(next(one for one in found[first] if one["wavelength"] == rest))
    if first == "damage":
        one = next(one for one in found["damage"] if one["name"] == rest)
        return {"value": one["frequency_factor"], "basis": one["basis"]}
    for part in entry.split("."):
        found = found[part]
    return dict(found)


def _number(value: str | float) -> float:
    return float(str(value).partition(" ")[0])


BROWNING = 4.0
"""Factor on either side of browning's frequency factor, which states no range."""


def candidates() -> tuple[Value, ...]:
    """Every ranged value of the materials of the rows that acts on some row's run, before screening."""
    moist = (
        "rupture_temperature", "rupture_water_share", "steam_escape_time", "film_thickness", "film_growth",
        "debris.10.6 um", "debris.2.1 um", "debris.2.94 um", "absorption.10.6 um", "absorption.9.3 um",
        "absorption.2.94 um", "absorption.2.79 um", "absorption.2.1 um", "absorption.2.01 um",
        "pyrolysis.activation_energy", "pyrolysis.heat", "pyrolysis.char_yield", "burn_off_temperature",
        "burn_off_conversion", "conductivity_dry", "conductivity_char", "emissivity",
    )  # fmt: skip
    bulk = ("density", "water_mass_fraction", "specific_heat_solid", "conductivity")
    slopes = ("10.6 um", "9.3 um", "2.94 um", "2.79 um", "2.1 um", "2.01 um")
    acrylic = ("pyrolysis.heat", "pyrolysis.activation_energy", "absorption.10.6 um", "specific_heat_solid",
               "conductivity", "reflectance", "burn_off_temperature", "burn_off_conversion", "emissivity",
               "density")  # fmt: skip
    factor = float(_number(_row(FAMILY, "damage.browning")["value"]))
    return (
        *(Value(name, "rupture_temperature") for name in ("skin", "oral_mucosa")),
        *(Value(FAMILY, entry) for entry in moist),
        *(Value(WATER, f"slope.{line}") for line in slopes),
        Value(FAMILY, "damage.browning", (factor / BROWNING, factor * BROWNING)),
        *(Value("pmma", entry) for entry in acrylic),
        *(Value(name, entry) for name in ("skin", "oral_mucosa", "liver", "muscle") for entry in bulk),
    )


def changes_of(values: Sequence[Value], shares: Array) -> Changes:
    """Changes that set all `values` at their `shares`."""
    found: dict[str, str | float] = {}
    for one, share in zip(values, shares, strict=True):
        found |= one.changes(float(one.at(np.asarray(share))))
    return found
