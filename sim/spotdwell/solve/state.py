"""State: the arrays that the kernels march, laid out from a problem."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from spotdwell.base import constants
from spotdwell.kernels import ready
from spotdwell.kernels.absorb import BLOCK
from spotdwell.kernels.conduct import MOST_STAGES
from spotdwell.kernels.damage import COLDEST_DAMAGE
from spotdwell.kernels.layout import Falling, Media, Mesh, State, Still, Surround, Work
from spotdwell.kernels.slots import BOOKED
from spotdwell.model.columns import Geometry
from spotdwell.model.material import BURN_OFF_ACTIVATION, Medium
from spotdwell.model.problem import Grid, Problem
from spotdwell.model.target import Backing

Array = NDArray[np.float64]

FIRST_STEP = 1e-9
"""Over which debris is taken to claim what it is owed in the first step [s]; there is none yet."""
SLOWEST_DAMAGE = 1e-6
"""Rate below which damage is not summed [1/s]: in an hour it adds 0.004."""
_BY_CELL = ("row", "before", "decay", "held", "share", "charring", "reactive")
"""Scratch of one column or one step."""
_BY_ROW = ("held_heat", "passed", "pivot", "factor", "right", "solved")
"""Scratch of one row of columns."""
_BACKINGS = {Backing.INSULATED: ready.INSULATED, Backing.HELD: ready.HELD, Backing.OPEN_AIR: ready.OPEN}


def mesh_of(grid: Grid) -> Mesh:
    """Cells, faces and each column's list of neighbours."""
    columns = grid.columns
    first, face, other = neighbours(columns.face_columns, columns.count)
    heights = np.diff(grid.depth_edges)
    return Mesh(
        cell=heights,
        inverse_height=1.0 / heights,
        area=columns.area,
        pair=columns.face_columns,
        width=columns.face_width,
        half=columns.face_distances,
        ratio=columns.face_width / columns.face_distances.sum(axis=1),
        first=first,
        face=face,
        other=other,
        layer=grid.layer_of_cell,
        edges=grid.depth_edges,
        reach=int(np.abs(np.diff(columns.face_columns, axis=1)).max(initial=1)),
        row=columns.y.size if columns.geometry is Geometry.LATTICE else 0,
        marching=np.arange(columns.count, dtype=np.int64),
    )


def neighbours(
    pair: NDArray[np.int64], count: int
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Where the neighbours of each of `count` columns start, their faces and they, sorted by column [index].

    `pair` are the columns of each face, shape (faces, 2).
    """
    owner = pair.T.ravel()
    other = pair[:, ::-1].T.ravel()
    face = np.tile(np.arange(pair.shape[0], dtype=np.int64), 2)
    order = np.argsort(owner, kind="stable")
    first = np.concatenate([[0], np.cumsum(np.bincount(owner, minlength=count))]).astype(np.int64)
    return first, face[order], other[order]


def media_of(problem: Problem) -> Media:
    """Properties of every cell's layer, as the kernels read them."""
    media = [layer.medium for layer in problem.target.layers]
    cells = problem.grid.layer_of_cell
    initial = problem.target.initial_temperature

    def each(value: Callable[[Medium], float]) -> Array:
        return np.array([value(medium) for medium in media], dtype=float)[cells]

    factor, activation = _damage_tables(media)
    with np.errstate(divide="ignore"):
        inverse_water = np.where(
            each(lambda m: m.water_density) > 0, 1.0 / each(lambda m: m.water_density), 0.0
        )
    return Media(
        density=each(lambda m: m.solid_density + m.water_density),
        solid_capacity=each(lambda m: m.solid_density * m.specific_heat_solid),
        capacity_loss=each(_capacity_loss),
        liquid_capacity=each(lambda m: m.water_density * m.specific_heat_water if m.is_liquid else 0.0),
        initial_water=each(lambda m: m.water_density),
        inverse_water=inverse_water,
        water_heat=each(lambda m: 0.0 if m.is_liquid else m.specific_heat_water),
        latent_heat=each(lambda m: m.latent_heat),
        boiling_rise=each(lambda m: m.boiling_temperature - initial),
        conductivity_wet=each(lambda m: m.conductivity),
        conductivity_dry=each(lambda m: m.conductivity_dry if m.water_density > 0 else m.conductivity),
        conductivity_char=each(lambda m: m.conductivity_char),
        # A liquid shrinks as it boils away; it does not grow clear.
        absorption_water=each(
            lambda m: 0.0 if m.is_liquid else m.absorption_coefficient_water / constants.WATER_DENSITY
        ),
        absorption_solid=each(
            lambda m: m.absorption_coefficient if m.is_liquid else m.absorption_coefficient_solid
        ),
        absorption_slope=each(lambda m: 0.0 if m.is_liquid else m.absorption_slope),
        cool_rise=each(lambda m: constants.WATER_REFERENCE_TEMPERATURE - initial),
        reflectance=each(lambda m: m.reflectance),
        emissivity=each(lambda m: m.emissivity),
        pyrolysis_factor=each(lambda m: m.pyrolysis.frequency_factor if m.pyrolysis else 0.0),
        pyrolysis_temperature=each(
            lambda m: m.pyrolysis.activation_energy / constants.GAS_CONSTANT if m.pyrolysis else 0.0
        ),
        pyrolysis_heat=each(lambda m: m.pyrolysis.heat * m.solid_density if m.pyrolysis else 0.0),
        inverse_removal=each(
            lambda m: 1.0 / m.removal_enthalpy(initial) if m.removal or m.is_liquid else 0.0
        ),
        rupture_rise=each(
            lambda m: m.removal.rupture_temperature - initial if m.removal and m.ruptures else math.inf
        ),
        flash_water=each(lambda m: m.flash_water if m.ruptures else math.inf),
        film_thickness=each(lambda m: m.removal.film_thickness if m.removal else 0.0),
        film_growth=each(lambda m: m.removal.film_growth if m.removal else 0.0),
        film_rate=each(_film_rate),
        debris_heat=each(lambda m: m.removal.debris_heat if m.removal else 0.0),
        steam_escape_rate=each(_escape_rate),
        burn_conversion=each(lambda m: m.removal.burn_off_conversion if m.removal else math.inf),
        burn_rise=each(lambda m: m.removal.burn_off_temperature - initial if m.removal else math.inf),
        burn_temperature=each(lambda m: BURN_OFF_ACTIVATION / constants.GAS_CONSTANT),
        blood_heat=each(lambda m: m.perfusion),
        damage_factor=np.ascontiguousarray(factor[:, cells]),
        damage_temperature=np.ascontiguousarray(activation[:, cells]),
        damage_coldest=_coldest(factor, activation),
    )


def _capacity_loss(medium: Medium) -> float:
    """Share of the solids' capacity that leaves with conversion; what turns to gas keeps it until it goes."""
    if medium.pyrolysis is None or not medium.pyrolysis.leaves_char:
        return 0.0
    return 1.0 - medium.pyrolysis.char_yield


def _escape_rate(medium: Medium) -> float:
    """Rate at which superheat is spent on steam [1/s]; a liquid boils at once, as does what nothing holds."""
    escape = medium.removal.steam_escape_time if medium.removal else 0.0
    return math.inf if medium.is_liquid or escape == 0.0 else 1.0 / escape


def _film_rate(medium: Medium) -> float:
    """Rate at which a film of the largest thickness cools through, 4 alpha / delta_max^2 [1/s]."""
    thickness = medium.removal.film_thickness if medium.removal else 0.0
    if thickness == 0.0:
        return math.inf
    return 4.0 * medium.conductivity / (medium.heat_capacity * thickness**2)


def _damage_tables(media: list[Medium]) -> tuple[Array, Array]:
    """ln A and E_a / R by process and layer; -inf where a medium has fewer processes than another."""
    count = max((len(medium.damage) for medium in media), default=0)
    factor = np.full((count, len(media)), -np.inf)
    activation = np.zeros((count, len(media)))
    for layer, medium in enumerate(media):
        for p, process in enumerate(medium.damage):
            factor[p, layer] = math.log(process.frequency_factor)
            activation[p, layer] = process.activation_energy / constants.GAS_CONSTANT
    return factor, activation


def _coldest(factor: Array, activation: Array) -> Array:
    """Temperature below which each process is slower than `SLOWEST_DAMAGE` in every layer [K]."""
    coldest = activation / np.maximum(factor - math.log(SLOWEST_DAMAGE), 1.0)
    present = np.where(np.isfinite(factor), coldest, np.inf)
    return np.asarray(np.maximum(present.min(axis=1, initial=np.inf), COLDEST_DAMAGE))


def initial_state(problem: Problem, media: Media) -> State:
    """Untouched tissue at its initial temperature."""
    n, cells = problem.grid.columns.count, problem.grid.depth.size
    shape = (n, cells)
    return State(
        temperature=np.zeros(shape),
        water=np.tile(media.initial_water, (n, 1)),
        conversion=np.zeros(shape),
        damage=np.zeros((media.damage_factor.shape[0], *shape)),
        damage_rise=np.zeros(shape),
        dose=np.zeros(shape if problem.thermal_dose else (0, 0)),
        floor=np.zeros(n, dtype=np.int64),
        left=np.ones(n),
        front=np.zeros(n),
        changed=np.zeros(n, dtype=np.int64),
        thrown=np.zeros(n),
        debris=np.zeros(n),
        paid=np.zeros(n),
    )


def still_of(mesh: Mesh, media: Media, backing: Backing) -> Still:
    """Untouched tissue by depth."""
    capacity = media.solid_capacity + media.liquid_capacity + media.initial_water * media.water_heat
    wet = media.initial_water > 0.0
    conductivity = np.where(wet, media.conductivity_wet, media.conductivity_dry)
    vertical = np.zeros(mesh.cell.size + 1)
    resistance = mesh.cell / conductivity
    vertical[1:-1] = 2.0 / (resistance[1:] + resistance[:-1])
    if backing is not Backing.INSULATED:
        # Open air takes less than a held face.
        vertical[-1] = 2.0 * conductivity[-1] / mesh.cell[-1]
    across = np.zeros(mesh.area.size)
    for side in (0, 1):
        np.add.at(across, mesh.pair[:, side], mesh.ratio / mesh.area[mesh.pair[:, side]])
    rate = (vertical[1:] + vertical[:-1]) * mesh.inverse_height + across.max() * conductivity
    mu = media.absorption_water * media.initial_water + media.absorption_solid
    return Still(
        capacity=capacity,
        inverse_capacity=1.0 / capacity,
        conductivity=conductivity,
        vertical=vertical,
        rate=np.maximum.accumulate(rate / capacity),
        absorbed=-np.expm1(-mu * mesh.cell),
    )


def work_arrays(mesh: Mesh, still: Still, ambient_rise: float) -> Work:
    """Scratch for conduction, as of untouched tissue; ghosts and gone cells hold the `ambient_rise` [K]."""
    n, cells, faces = mesh.area.size, mesh.cell.size, mesh.width.size
    longest = max(mesh.row, n // mesh.row) if mesh.row else 0
    untouched = ("conductivity", "inverse_capacity")
    shapes = dict.fromkeys((*untouched, "start", "current", "previous", "slope", "source"), (n, cells))
    shapes |= {"vertical": (n, cells + 1), "lateral": (faces, cells)}
    shapes |= {"rise": (n, cells + 2), "rise_next": (n, cells + 2)}
    fields = {name: _staggered(place, shape) for place, (name, shape) in enumerate(shapes.items())}
    for name in (*untouched, "vertical"):
        fields[name][:] = getattr(still, name)
    fields["lateral"][:] = still.conductivity * mesh.ratio[:, None]
    fields["rise"][:] = fields["rise_next"][:] = ambient_rise
    return Work(
        **fields,
        edge=np.zeros(n, dtype=np.int64),
        scratch=np.zeros((2, n), dtype=np.int64),
        **{name: np.zeros(cells) for name in _BY_CELL},
        **{name: np.zeros((longest + 2, cells + 1)) for name in _BY_ROW},
        per_area=np.zeros(BOOKED),
        shares=np.zeros(BLOCK),
        weights=np.zeros((MOST_STAGES + 2, 5)),
        **{name: np.zeros(n) for name in ("falling", "stored", "warmest")},
        lost=np.zeros((2, MOST_STAGES + 2)),
    )


def _staggered(place: int, shape: tuple[int, int]) -> Array:
    """Zeros of `shape` that begin `place` times five cache lines off a page.

    Large arrays all begin on a page, so that the same row of many would fall on the same few sets of the
    cache and evict one another.
    """
    size = shape[0] * shape[1]
    begin = 40 * place
    return np.zeros(size + begin)[begin:].reshape(shape)


def steady(sent: float, power: Array) -> Falling:
    """Light that does not change: `sent` [W], and of it on each column [W], shape (columns,)."""
    return Falling(0.0, math.inf, np.array([sent]), np.ascontiguousarray(power)[None, :])


def surroundings(problem: Problem) -> Surround:
    """What exposed faces lose heat to."""
    target, surface = problem.target, problem.surface
    below = surface.ambient_temperature if target.backing is Backing.OPEN_AIR else target.backing_temperature
    return Surround(
        exchange=float(surface.heat_transfer_coefficient),
        radiates=float(surface.radiates),
        initial=float(target.initial_temperature),
        ambient=float(surface.ambient_temperature),
        backing=_BACKINGS[target.backing],
        backing_rise=float(below - target.initial_temperature),
    )
