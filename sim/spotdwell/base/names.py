"""Vocabulary: one name, symbol, SI unit, display unit and meaning for each quantity, used everywhere."""

from __future__ import annotations

import math
from dataclasses import dataclass

from spotdwell.base.settings import MAPPABLE, MAPPED
from spotdwell.base.units import chosen, convert, significant


@dataclass(frozen=True)
class Quantity:
    """A physical quantity as the tool names it."""

    name: str
    """Identifier in TOML, code, HDF5 and JSON."""
    symbol: str
    unit: str
    """SI unit, as pint and UDUNITS read it."""
    display_unit: str
    """Unit in tables and pictures."""
    meaning: str

    @property
    def is_layer(self) -> bool:
        """Whether it is the thickness of a zone that is left, or its reach along the surface."""
        return "_thickness_" in self.name

    def grid_error(self, value: float, cell: float | None = None) -> float:
        """What half the cells and steps may change of a measure's `value`, with cells `cell` [m] high; SI.

        Lengths and volumes of the crater 2 %, layers 5 % or 0.3 cells: the bounds that the grid studies hold
        (THEORY.md, Convergence). 0 for what no bound is held of.
        """
        if self.is_layer:
            return max(GRID_LAYER * abs(value), GRID_CELLS * (cell or 0.0))
        if self.name.startswith("char_"):
            return GRID_LAYER * abs(value)
        return GRID_CRATER * abs(value) if self.name in _CRATER else 0.0

    @property
    def shown_unit(self) -> str:
        """The display unit, or the one of its kind that a reader asked for."""
        return chosen(self.unit, self.display_unit)

    def text(self, value: float, cell: float | None = None) -> str:
        """`value` [SI] in the display unit, with the digits that the grid gives and at most three."""
        shown = float(convert(value, self.unit, self.shown_unit))
        error = self.grid_error(value, cell)
        least = error if self.is_layer else GRID_NONE * (cell or 0.0) if self.name in _DEPTHS else 0.0
        if 0.0 < value < least:
            return BELOW_GRID
        if error == 0.0 or not shown:
            return significant(shown)
        scale = float(convert(error, self.unit, self.shown_unit))
        grain = 10.0 ** math.floor(math.log10(scale))
        digits = 1 + math.floor(math.log10(abs(shown))) - round(math.log10(grain))
        return significant(shown, min(3, max(1, digits)))


GRID_CRATER, GRID_LAYER, GRID_CELLS = 0.02, 0.05, 0.3
"""Shares that half the cells and steps may change of a crater and of a layer, and of a layer in cells [-]."""
GRID_NONE = 0.1
"""Depth over the height of the cells below which nothing was removed for what the grid can tell [-]."""
BELOW_GRID = "below grid"
"""For a layer that is thinner than what the grid may err by, and a depth that is none."""
_DEPTHS = ("crater_depth", "deepest")
_CRATER = (
    *("crater_depth", "deepest", "crater_width", "crater_width_half_depth"),
    *("crater_volume", "solid_volume", "crater_mass", "energy_per_removed_volume"),
)


def _table(*rows: tuple[str, str, str, str, str]) -> dict[str, Quantity]:
    return {row[0]: Quantity(*row) for row in rows}


FIELDS = _table(
    ("temperature", "T", "K", "degC", "temperature"),
    ("water", "w", "kg/m3", "kg/m3", "free water per volume"),
    ("conversion", "x", "1", "1", "share of the solids converted to char"),
    ("damage", "Omega", "1", "1", "thermal damage; 1 is 63 % of the process complete"),
    ("floor", "f", "1", "1", "index of the exposed cell"),
    ("crater_depth", "d", "m", "um", "depth of the crater"),
    ("thermal_dose", "CEM43", "s", "min", "time at 43 degC of equal effect"),
)
"""Fields that a run keeps."""

MEASURES = _table(
    ("crater_depth", "d", "m", "um", "depth of the crater at the beam's axis"),
    ("deepest", "d_max", "m", "um", "deepest point of the crater"),
    ("crater_width", "D", "m", "um", "width of the crater at the surface"),
    ("crater_width_half_depth", "D_1/2", "m", "um", "width of the crater at half its depth"),
    ("crater_volume", "V", "m3", "mm3", "volume removed"),
    ("solid_volume", "V_s", "m3", "mm3", "volume of solids removed, without liquid that lay on them"),
    ("crater_mass", "m", "kg", "mg", "mass removed"),
    ("char_thickness_floor", "", "m", "um", "how far char reaches under the floor"),
    ("char_thickness_wall", "", "m", "um", "how far char reaches from the wall, normal to it"),
    ("char_thickness_rim", "", "m", "um", "how far the surface is charred beyond the crater's edge"),
    ("dried_thickness_floor", "", "m", "um", "how far tissue is dried under the floor"),
    ("dried_thickness_wall", "", "m", "um", "how far tissue is dried from the wall, normal to it"),
    ("dried_thickness_rim", "", "m", "um", "how far the surface is dried beyond the crater's edge"),
    ("coagulation_thickness_floor", "", "m", "um", "how far tissue is coagulated under the floor"),
    ("coagulation_thickness_wall", "", "m", "um", "how far tissue is coagulated from the wall, normal to it"),
    ("coagulation_thickness_rim", "", "m", "um", "how far tissue is coagulated beyond the crater's edge"),
    ("trusted_wall", "", "m", "um", "thinnest coagulated wall that measurements support"),
    ("char_volume", "", "m3", "mm3", "volume of charred material left"),
    ("char_per_removed_volume", "", "1", "1", "charred volume left over removed volume"),
    ("peak_temperature", "T_max", "K", "degC", "highest temperature reached"),
    ("incident_energy", "E", "J", "J", "energy of the beam on the target"),
    ("energy_per_removed_volume", "", "J/m3", "J/mm3", "incident energy over removed volume"),
    ("irradiance_mean", "I", "W/m2", "W/mm2", "mean irradiance, over the area of the spot"),
    ("irradiance_peak", "I_0", "W/m2", "W/mm2", "peak irradiance of the beam"),
    ("radiant_exposure", "H", "J/m2", "J/mm2", "energy over the area of the spot"),
    (
        "thermal_relaxation_time",
        "tau",
        "s",
        "ms",
        "thermal relaxation time of the top layer, 1 / (4 alpha mu^2)",
    ),
    ("perforation_time", "", "s", "ms", "when the first column was through"),
    ("end_time", "", "s", "s", "simulated time"),
    ("cell_depth", "", "m", "um", "height of the finest cells"),
)
"""Measures that a run reports; None where one does not apply."""

LEDGER = _table(
    ("incident", "", "J", "J", "energy sent by the beam"),
    ("outside", "", "J", "J", "missed the target sideways"),
    ("reflected", "", "J", "J", "reflected at the exposed face"),
    ("plume", "", "J", "J", "taken by plume and debris"),
    ("transmitted", "", "J", "J", "passed through the target"),
    ("stored", "", "J", "J", "heat left in the target"),
    ("latent", "", "J", "J", "evaporated water"),
    ("vented", "", "J", "J", "heat carried off by steam and pyrolysis gas"),
    ("reaction", "", "J", "J", "heat of pyrolysis"),
    ("carried", "", "J", "J", "heat carried off by removed material"),
    ("surface", "", "J", "J", "lost from exposed faces to the surroundings"),
    ("backing", "", "J", "J", "lost to the backing"),
    ("blood", "", "J", "J", "carried off by blood"),
)
"""Terms of the energy ledger."""

AXES = _table(
    *((name, "", MAPPABLE[name].unit, one.display_unit, one.meaning) for name, one in MAPPED.items())
)
"""Settings of a shot or a scan that a map goes through; the material is a word."""
