"""Automatic grid: cells from wavelength, spot and the depth that the energy could reach, with reasons."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.model.beam import Beam
from spotdwell.model.columns import Columns, Geometry, lattice, rings, slab
from spotdwell.model.exposure import Exposure
from spotdwell.model.material import MOST_SHADE, Medium
from spotdwell.model.problem import Grid
from spotdwell.model.target import Target

Array = NDArray[np.float64]

_PENETRATION_SHARE = 0.5
"""Cell height over the penetration depth 1 / mu (see THEORY.md, Grid)."""
_SPOT_SHARE = 1.0 / 27.0
"""Column width over the beam radius."""
_WIDEST = 30e-6
"""Widest automatic column under the beam of a millimetre spot [m]: rims and walls are some 100 um thick."""
_MOST_FINE_CELLS = 800
_GROWTH = 1.15
"""Height of a cell over that of the one before, where cells widen."""
_REACHED = (0.6, 1.5)
"""Of the depth that energy allows craters reach at most 1 - 1.5 d, and 0.6 for large d (THEORY.md, Grid)."""
_REACHED_DRY = 0.75
"""The same where no steam is at work."""
_MARGIN_COAGULATION = 150e-6
"""Fine cells go on below the crater by this much [m], so that the coagulated layer is resolved."""
_CELLS_IN_LAYER = 4


@dataclass(frozen=True)
class GridRequest:
    """What the user asks of the grid; None leaves the choice to the tool."""

    geometry: Geometry = Geometry.AXISYMMETRIC
    cell_depth: float | None = None
    """Height of the fine cells [m]."""
    cell_width: float | None = None
    """Width of the columns under the beam [m]."""
    depth: float | None = None
    """Depth of the grid [m]; only where the last layer is thick."""
    half_width: float | None = None
    """Radius, or half the side of a lattice [m]."""
    stretch: bool = True
    """Whether cells widen below the crater and outside the beam."""
    refinement: float = 1.0
    """Every cell is this many times smaller than asked or chosen."""
    area: float | None = None
    """Area of a slab's column [m2]."""
    symmetry: int = 1
    """Copies of a lattice: 4 a quarter, 2 a half, 1 the whole."""


def choose_grid(target: Target, beam: Beam, exposure: Exposure, request: GridRequest) -> Grid:
    """Return a grid for the problem, with its reasons.

    Raises InputError where a layer is thinner than a cell, the beam wider than the target, or a slab has no
    area.
    """
    reasons: list[str] = []
    bound = depth_bound(target, beam, exposure, request)
    fine = _fine_height(target, bound, request, reasons)
    fine_until = reached_share(target, beam, exposure, request) * bound + _MARGIN_COAGULATION
    edges, layers = _depth_edges(target, bound, fine, fine_until, request, reasons)
    columns = _columns(target, beam, request, reasons)
    return Grid(columns, edges, layers, tuple(reasons))


def depth_bound(target: Target, beam: Beam, exposure: Exposure, request: GridRequest) -> float:
    """Depth that the beam cannot exceed [m]: its peak radiant exposure over the least removal enthalpy."""
    peak = _peak(beam, request)
    if beam.scan_speed != 0.0:
        peak /= max(1.0, abs(beam.scan_speed) * exposure.end / (2.0 * beam.radius))
    removable = [layer.medium for layer in target.layers if layer.medium.removal or layer.medium.is_liquid]
    if not removable:
        return 0.0
    least = min(_least_energy(medium, target.initial_temperature) for medium in removable)
    reachable = exposure.energy * peak * beam.plume_transmittance / max(least, 1e6)
    return min(reachable, sum(layer.thickness for layer in target.layers))


def _least_energy(medium: Medium, initial_temperature: float) -> float:
    """Least energy of the beam that removes a volume [J/m3]: what debris takes is part of it (eq. 9)."""
    heat = medium.removal_enthalpy(initial_temperature)
    if medium.removal is None or not medium.ruptures:
        return heat
    thrown = min(heat + medium.removal.debris_heat, heat / (1.0 - MOST_SHADE))
    return min(thrown, medium.burn_off_enthalpy(initial_temperature))


def reached_share(target: Target, beam: Beam, exposure: Exposure, request: GridRequest) -> float:
    """Share of `depth_bound` that craters reach at most [-].

    Steam that escapes while the surface warms up to rupture is heat lost: d is the heat above boiling of a
    cell that ruptures, over what the beam brings in the time in which steam escapes.
    """
    irradiance = exposure.peak_power * _peak(beam, request)
    shares = [_REACHED_DRY]
    for medium in (layer.medium for layer in target.layers):
        if medium.is_liquid:
            shares.append(1.0)
        elif medium.removal and medium.ruptures:
            over = medium.removal.rupture_temperature - medium.boiling_temperature
            heating = medium.absorption_coefficient * irradiance * medium.removal.steam_escape_time
            least, slope = _REACHED
            lost = medium.heat_capacity * over
            shares.append(max(least, 1.0 - slope * lost / heating) if heating > 0.0 else least)
    return max(shares[1:], default=shares[0])


def _peak(beam: Beam, request: GridRequest) -> float:
    """Highest irradiance for 1 W [1/m2]."""
    if request.geometry is not Geometry.SLAB:
        return beam.peak_irradiance
    if request.area is None:
        raise InputError(
            "grid.area", "an area for the slab's column", "nothing", 'For example area = "1 mm2".'
        )
    return 1.0 / request.area


def _fine_height(target: Target, bound: float, request: GridRequest, reasons: list[str]) -> float:
    """Height of the fine cells [m]."""
    if request.cell_depth is not None:
        height = request.cell_depth / request.refinement
        reasons.append(f"cells are {height * 1e6:.3g} um high, as asked")
        return height
    solids = [layer.medium for layer in target.layers if not layer.medium.is_liquid]
    media = solids or [layer.medium for layer in target.layers]
    strongest = max(medium.absorption_coefficient for medium in media)
    penetration = math.inf if strongest == 0.0 else 1.0 / strongest
    height = min(_PENETRATION_SHARE * penetration, 20e-6)
    reason = f"{height * penetration**-1:.2g} of the penetration depth 1/mu = {penetration * 1e6:.3g} um"
    if bound / height > _MOST_FINE_CELLS:
        height = bound / _MOST_FINE_CELLS
        reason = f"the beam could reach {bound * 1e3:.3g} mm, shared among {_MOST_FINE_CELLS} cells"
    height /= request.refinement
    reasons.append(f"cells are {height * 1e6:.3g} um high: {reason}")
    return height


def _depth_edges(
    target: Target, bound: float, fine: float, fine_until: float, request: GridRequest, reasons: list[str]
) -> tuple[Array, NDArray[np.int64]]:
    """Cell edges that meet every layer boundary, and each cell's layer."""
    depth = _thick_depth(bound, request)
    edges, layers, top = [np.zeros(1)], [], 0.0
    for index, layer in enumerate(target.layers):
        bottom = depth if math.isinf(layer.thickness) else top + layer.thickness
        if bottom <= top:
            above = f"more than the {top * 1e3:.3g} mm of the layers above"
            raise InputError("grid.depth", above, f"{depth * 1e3:.3g} mm")
        height = _layer_height(index, layer.thickness, fine, request)
        heights = _heights(top, bottom, height, fine_until, request)
        edges.append(top + np.cumsum(heights))
        edges[-1][-1] = bottom
        layers.append(np.full(heights.size, index, dtype=np.int64))
        top = bottom
    all_edges = np.concatenate(edges)
    reach = (
        f"the crater cannot be deeper than {bound * 1e3:.3g} mm" if bound > 0.0 else "nothing can be removed"
    )
    reasons.append(f"{all_edges.size - 1} cells down to {top * 1e3:.3g} mm; {reach}")
    return all_edges, np.concatenate(layers)


def _thick_depth(bound: float, request: GridRequest) -> float:
    """Depth of the grid where the last layer is thick [m]: the crater and the heat that spreads below it."""
    if request.depth is not None:
        return request.depth
    return float(1.05 * bound + 6e-3)


def _layer_height(index: int, thickness: float, fine: float, request: GridRequest) -> float:
    """Fine cell height within one layer [m]."""
    if request.cell_depth is not None:
        if thickness < fine:
            raise InputError(
                f"target.layers[{index}].thickness",
                f"at least one cell of {fine * 1e6:.3g} um",
                f"{thickness * 1e6:.3g} um",
                "Thicken the layer, or make grid.cell_depth smaller or leave it out.",
            )
        return fine
    height = min(fine, thickness / _CELLS_IN_LAYER)
    if height < 0.05e-6:
        raise InputError(
            f"target.layers[{index}].thickness",
            f"at least {_CELLS_IN_LAYER * 0.05:g} um: thinner layers are not continuous matter to the model",
            f"{thickness * 1e6:.3g} um",
        )
    return height


def _heights(top: float, bottom: float, fine: float, fine_until: float, request: GridRequest) -> Array:
    """Cell heights of one layer [m]: even down to `fine_until`, then widening to its bottom."""
    evenly = min(bottom, max(fine_until, top)) if request.stretch else bottom
    count = math.ceil((evenly - top) / fine * (1.0 - 1e-9))
    left = bottom - top - count * fine
    if left <= fine:
        # All even: a small common factor makes the last edge meet the bottom.
        count = max(count, 1)
        return np.full(count, (bottom - top) / count)
    growth = _GROWTH ** (1.0 / request.refinement)
    widening = fine * growth ** np.arange(
        1, 1 + math.ceil(math.log1p(left * (growth - 1.0) / fine) / math.log(growth))
    )
    return np.concatenate([np.full(count, fine), widening * (left / widening.sum())])


def _columns(target: Target, beam: Beam, request: GridRequest, reasons: list[str]) -> Columns:
    """Columns of the asked geometry."""
    if request.geometry is Geometry.SLAB:
        assert request.area is not None
        reasons.append("one column under a uniform beam")
        return slab(request.area)
    width = request.cell_width or min(beam.radius * _SPOT_SHARE, _WIDEST)
    width /= request.refinement
    fine = min(beam.reach, 1.6 * beam.radius)
    if fine / width > 400:
        width = fine / 400
    half = request.half_width or fine + max(6e-3, 2.0 * beam.radius)
    reach = beam.reach + max(abs(beam.centre[0]), abs(beam.centre[1]))
    if reach > half * (1.0 + 1e-9) and request.geometry is Geometry.AXISYMMETRIC:
        raise InputError(
            "grid.half_width",
            f"at least {reach * 1e3:.3g} mm, the radius that holds all but a millionth of the beam",
            f"{half * 1e3:.3g} mm",
            "Widen the grid, leave half_width out, or use a smaller beam.",
        )
    why = "as asked" if request.cell_width else f"1/{beam.radius / width:.3g} of the beam radius"
    if request.geometry is Geometry.AXISYMMETRIC:
        edges = _spread(fine, half, width, request)
        under = f"{width * 1e6:.3g} um wide under the beam ({why})"
        reasons.append(f"{edges.size - 1} rings, {under}, out to {half * 1e3:.3g} mm")
        return rings(edges)
    return _lattice_columns(beam, request, fine, half, width, why, reasons)


def _spread(fine: float, half: float, width: float, request: GridRequest) -> Array:
    """Edges from 0 to `half`: even out to `fine`, then widening."""
    heights = _heights(0.0, half, width, fine if request.stretch else half, request)
    return np.concatenate([[0.0], np.cumsum(heights)])


def _lattice_columns(
    beam: Beam, request: GridRequest, fine: float, half: float, width: float, why: str, reasons: list[str]
) -> Columns:
    """Columns of a lattice; mirrored lines start at 0, whole ones run to both sides."""
    side = _spread(fine, half, width, request)
    both = np.concatenate([-side[:0:-1], side])
    scans = beam.scan_speed != 0.0 or beam.centre != (0.0, 0.0)
    if request.symmetry == 4 and scans:
        raise InputError("grid.symmetry", "1 or 2 for a beam that moves or stands off the axis", "4")
    if request.symmetry == 2 and beam.centre[1] != 0.0:
        raise InputError("grid.symmetry", "1 for a beam off the line y = 0", "2")
    x = side if request.symmetry == 4 else both
    y = both if request.symmetry == 1 else side
    if scans:
        # A moving spot wants even columns along its whole path.
        count = math.ceil(2.0 * half / width)
        x = np.linspace(-half, half, count + 1)
    if max(abs(beam.centre[0]), abs(beam.centre[1])) + beam.reach > half * (1.0 + 1e-9):
        whole = "enough for the whole beam"
        raise InputError("grid.half_width", whole, f"{half * 1e3:.3g} mm", "Widen the grid.")
    under = f"{width * 1e6:.3g} um wide under the beam ({why})"
    reasons.append(f"{x.size - 1} x {y.size - 1} columns, {under}, symmetry {request.symmetry}")
    return lattice(x, y, float(request.symmetry))
