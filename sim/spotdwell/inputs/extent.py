"""Extent: how many cells, arrays and steps a scenario asks for, counted before anything is laid out.

What no machine could hold or finish is refused here, with the key that asks too much.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.base.system import memory
from spotdwell.inputs.schema import Scenario
from spotdwell.model import grid as rules
from spotdwell.model.beam import Beam
from spotdwell.model.columns import Geometry
from spotdwell.model.exposure import Exposure
from spotdwell.model.grid import GridRequest
from spotdwell.model.material import Medium
from spotdwell.model.target import Target

MOST_CELLS = 200_000.0
"""Along one axis: finer than matter is continuous, or wider than any target."""
MOST_STEPS = 3e5
"""Of a run, by the least number that it needs: the shipped ones need up to some thousands."""
LARGE = 500e6
"""Bytes from which a run is told to be large."""

_THINNEST = 0.05e-6
"""Automatic cell [m]; a thinner one can be asked for."""
_MARCHED = 16
"""Arrays over all cells that a march holds, besides one for each damage process."""
_KEPT = 4
"""Arrays over all cells of a saved moment, besides one for each damage process."""
_LEAST_CAPACITY = 1e4
"""Volumetric heat capacity [J/m3/K] below which a beam heats a cell in ever shorter steps."""
_STAGED = 1e4
"""Longest step (eq. 17) over the time in which heat crosses a cell."""
_DECIMATED = 3
"""Copies of the saved moments while a result is written."""


@dataclass(frozen=True)
class Extent:
    """What a scenario asks for."""

    rows: float
    """Cells along a column."""
    across: float
    """Columns along x."""
    along: float
    """Columns along y; 1 unless a lattice."""
    height: float
    """Of the lowest cells [m]."""
    bytes: float
    """Of all arrays together."""

    @property
    def cells(self) -> float:
        """All cells."""
        return self.rows * self.across * self.along

    @property
    def note(self) -> str:
        """What is to be told of a large run before it; else ""."""
        if self.bytes <= LARGE:
            return ""
        return (
            f"this run is large: {self.cells:.3g} cells, about {1e-9 * self.bytes:.2g} GB of memory. "
            "Larger cells, a smaller grid or fewer save times take less"
        )


def checked_extent(
    scenario: Scenario, target: Target, beam: Beam, exposure: Exposure, request: GridRequest
) -> Extent:
    """Extent of the scenario. Raises InputError, with a key of the scenario, if it asks for too much."""
    found = _extent_of(scenario, target, beam, exposure, request)
    for count, keys in (
        (found.rows, _deepening(target, request)),
        (max(found.across, found.along), _widening(request)),
    ):
        if not count <= MOST_CELLS:
            expected, got = f"at most {MOST_CELLS:g} cells along an axis", f"{count:.3g} of them"
            raise InputError(keys, expected, got, _ADVICE)
    most = min(memory(), 1e12)
    if found.bytes > most:
        key = "run.save_times" if len(scenario.run.save_times) > 5 else _finest(target, request)
        got = f"{found.cells:.3g} cells and {len(scenario.run.save_times)} save times: {_size(found.bytes)}"
        raise InputError(key, f"what fits into {_size(most)} of memory", got, _ADVICE)
    _check_steps(scenario, target, exposure, found)
    return found


_ADVICE = "Ask for larger cells, a smaller grid or fewer save times."


def _extent_of(
    scenario: Scenario, target: Target, beam: Beam, exposure: Exposure, request: GridRequest
) -> Extent:
    rows, height = _rows(target, beam, exposure, request)
    across, along = _columns(beam, request)
    damage = max(len(layer.medium.damage) for layer in target.layers)
    each = 8.0 * rows * across * along
    saves = each * (_KEPT + damage) * (1.0 + _DECIMATED * (1.0 + max(1, len(scenario.run.save_times))))
    return Extent(rows, across, along, height, each * (_MARCHED + damage) + saves)


def _rows(target: Target, beam: Beam, exposure: Exposure, request: GridRequest) -> tuple[float, float]:
    """Cells along a column and the height of the lowest [m], by the rules of `model.grid`."""
    bound = rules.depth_bound(target, beam, exposure, request)
    fine = rules._fine_height(target, bound, request, [])
    until = rules.reached_share(target, beam, exposure, request) * bound + rules._MARGIN_COAGULATION
    if request.cell_depth is None and fine < _THINNEST:
        key = "grid.refinement" if request.refinement > 1.0 else "target.layers[0].material"
        expected = f"cells of at least {1e6 * _THINNEST:g} um: thinner ones are not continuous matter"
        raise InputError(key, expected, f"{1e6 * fine:.2g} um", "Refine less, or absorb the light less.")
    top, rows, least = 0.0, 0.0, math.inf
    for index, layer in enumerate(target.layers):
        deep = math.isinf(layer.thickness)
        bottom = rules._thick_depth(bound, request) if deep else top + layer.thickness
        height = rules._layer_height(index, layer.thickness, fine, request)
        rows += _count(top, bottom, height, until if request.stretch else bottom, request.refinement)
        top, least = max(top, bottom), min(least, height)
    return rows, least


def _columns(beam: Beam, request: GridRequest) -> tuple[float, float]:
    """Columns along x and y, by the rules of `model.grid`."""
    if request.geometry is Geometry.SLAB:
        return 1.0, 1.0
    width = (request.cell_width or min(beam.radius * rules._SPOT_SHARE, rules._WIDEST)) / request.refinement
    fine = min(beam.reach, 1.6 * beam.radius)
    width = max(width, fine / 400.0)
    half = request.half_width or fine + max(6e-3, 2.0 * beam.radius)
    side = _count(0.0, half, width, fine if request.stretch else half, request.refinement)
    if request.geometry is Geometry.AXISYMMETRIC:
        return side, 1.0
    across = side if request.symmetry == 4 else 2.0 * side
    along = 2.0 * side if request.symmetry == 1 else side
    if beam.scan_speed != 0.0 or beam.centre != (0.0, 0.0):
        across = 2.0 * half / width
    return across, along


def _count(top: float, bottom: float, fine: float, until: float, refinement: float) -> float:
    """Cells from `top` to `bottom` [m]: even ones of `fine` [m] down to `until`, then widening ones."""
    if bottom <= top:
        return 0.0
    if fine <= 0.0:
        return math.inf
    even = min(bottom, max(until, top))
    growth = math.expm1(math.log(rules._GROWTH) / refinement)
    left = bottom - even
    widening = math.log1p(left * growth / fine) / math.log1p(growth) if growth > 1e-12 else left / fine
    return (even - top) / fine + widening + 1.0


def _deepening(target: Target, request: GridRequest) -> str:
    """Key that most likely asks for too many cells along a column."""
    if request.refinement > 1.0:
        return "grid.refinement"
    if request.cell_depth is not None and request.cell_depth < 0.5e-6:
        return "grid.cell_depth"
    if request.depth is not None and math.isinf(target.layers[-1].thickness):
        return "grid.depth"
    thickest = max(range(len(target.layers)), key=lambda index: target.layers[index].thickness)
    if request.cell_depth is not None and math.isinf(target.layers[thickest].thickness):
        return "grid.cell_depth"
    return f"target.layers[{thickest}].thickness"


def _widening(request: GridRequest) -> str:
    """Key that most likely asks for too many columns."""
    if request.refinement > 1.0:
        return "grid.refinement"
    if request.half_width is not None and (request.cell_width is None or request.half_width > 0.1):
        return "grid.half_width"
    return "grid.cell_width" if request.cell_width is not None else "beam.diameter"


def _finest(target: Target, request: GridRequest) -> str:
    """Key that most likely asks for too many cells in all."""
    return _deepening(target, request) if request.cell_depth is not None else _widening(request)


def _check_steps(scenario: Scenario, target: Target, exposure: Exposure, found: Extent) -> None:
    """Raise InputError where even the fewest possible steps are too many."""
    ending = scenario.run
    end = ending.end_time if ending.end_time is not None else min(exposure.end, ending.longest_time)
    if (largest := scenario.steps.largest) is not None and end / largest > MOST_STEPS:
        got = f"{end / largest:.3g} of {units.written(largest, 's')}"
        raise InputError("steps.largest", f"at most {MOST_STEPS:g} steps", got, "Allow longer ones.")
    for index, layer in enumerate(target.layers):
        if (capacity := _least_capacity(layer.medium)) < _LEAST_CAPACITY:
            raise InputError(
                f"target.layers[{index}].material",
                f"matter that takes at least {_LEAST_CAPACITY:g} J/m3/K, as the lightest foam",
                f"one that takes {capacity:.2g} J/m3/K",
                "Correct its density, specific heat or water.",
            )
        spread = max(_diffusivities(layer.medium))
        if spread * end > MOST_STEPS * _STAGED * found.height**2:
            raise InputError(
                f"target.layers[{index}].material",
                f"heat that takes a step of some {end / MOST_STEPS:.1g} s or longer to cross a cell",
                f"a material that spreads it at {spread:.3g} m2/s",
                "Correct its conductivity, density, specific heat or water.",
            )


def _least_capacity(medium: Medium) -> float:
    """Heat capacity wet or dry, whichever is less [J/m3/K]."""
    dry = medium.solid_density * medium.specific_heat_solid
    return medium.heat_capacity if medium.is_liquid else min(medium.heat_capacity, dry)


def _diffusivities(medium: Medium) -> Iterator[float]:
    """Thermal diffusivity wet, dry and charred [m2/s]; infinite where it has no heat capacity."""
    dry = medium.solid_density * medium.specific_heat_solid
    char = dry * (medium.pyrolysis.char_yield if medium.pyrolysis and medium.pyrolysis.leaves_char else 1.0)
    states = [(medium.conductivity, medium.heat_capacity)]
    if not medium.is_liquid:
        states += [(medium.conductivity_dry, dry), (medium.conductivity_char, max(char, 0.01 * dry))]
    for conductivity, capacity in states:
        yield conductivity / capacity if capacity > 0.0 else math.inf


def _size(amount: float) -> str:
    return f"{1e-9 * amount:.2g} GB"
