"""Outcomes made from formulas: a crater and fields given as functions of place, with no march."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest

from spotdwell.model.beam import Beam
from spotdwell.model.columns import Columns, Geometry
from spotdwell.model.exposure import steady
from spotdwell.model.material import DamageProcess, Medium, Pyrolysis
from spotdwell.model.problem import Grid, Problem
from spotdwell.model.target import Layer, Target
from spotdwell.solve.outcome import LEDGER_TERMS, History, Outcome, Snapshot, Status

TISSUE = Medium(
    name="tissue",
    solid_density=300.0,
    water_density=800.0,
    specific_heat_solid=1500.0,
    conductivity=0.5,
    conductivity_dry=0.2,
    conductivity_char=0.1,
    absorption_coefficient_water=8e4,
    absorption_coefficient_solid=1e4,
    pyrolysis=Pyrolysis(1e12, 1.6e5, 1e6, 0.25),
    damage=(DamageProcess("collagen", "collagen", 1e40, 3e5),),
)
ACRYLIC = replace(
    TISSUE,
    name="acrylic",
    water_density=0.0,
    pyrolysis=Pyrolysis(1e12, 1.6e5, 1e6, 0.0, leaves_char=False),
    damage=(),
)
WATER = replace(TISSUE, name="water", solid_density=0.0, water_density=997.0, pyrolysis=None, damage=())

Field = Callable[[np.ndarray, np.ndarray], np.ndarray]
"""A formula of the distance from the axis and the depth [m]."""


@dataclass(frozen=True)
class Media:
    """The media that the tests' layers are made of."""

    tissue: Medium = TISSUE
    acrylic: Medium = ACRYLIC
    water: Medium = WATER


def _distance(columns: Columns, beam: Beam) -> np.ndarray:
    if columns.geometry is not Geometry.LATTICE:
        return columns.x
    x, y = np.meshgrid(columns.x - beam.centre[0], columns.y - beam.centre[1], indexing="ij")
    return (np.abs(y) if beam.scan_speed else np.hypot(x, y)).ravel()


def _front_and_floor(depth: np.ndarray, edges: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A front as a march leaves it: 0 until a first whole cell is gone, never deeper than the bottom."""
    floor = np.searchsorted(edges, np.clip(depth, 0.0, edges[-1]), side="right") - 1
    front = np.where(floor == 0, 0.0, np.minimum(depth, edges[-1]))
    return front, floor.astype(np.int64)


def build_outcome(
    columns: Columns,
    depth_edges: np.ndarray,
    crater: Callable[[np.ndarray], np.ndarray] = np.zeros_like,
    *,
    layers: tuple[Layer, ...] = (Layer(TISSUE, np.inf),),
    omega: Field = lambda r, z: 0.0 * (r + z),
    conversion: Field = lambda r, z: 0.0 * (r + z),
    water_share: Field = lambda r, z: 1.0 + 0.0 * (r + z),
    beam: Beam | None = None,
    power: float = 10.0,
    outside: float = 0.0,
    perforation_time: float | None = None,
) -> Outcome:
    beam = beam or Beam(10.6e-6, 200e-6)
    bottoms = np.cumsum([layer.thickness for layer in layers])
    centre = 0.5 * (depth_edges[1:] + depth_edges[:-1])
    layer_of_cell = np.searchsorted(bottoms, centre)
    exposure = steady(power, 0.1)
    grid = Grid(columns, depth_edges, layer_of_cell)
    r, z = _distance(columns, beam)[:, None], centre[None, :]
    front, floor = _front_and_floor(crater(r[:, 0]), depth_edges)
    first = np.array([layer.medium.water_density for layer in layers])[layer_of_cell]
    shape = (r.size, z.size)
    final = Snapshot(
        time=0.5,
        temperature=np.full(shape, 310.0),
        water=first * water_share(r, z),
        conversion=conversion(r, z),
        damage=omega(r, z)[None],
        floor=floor,
        crater_depth=front,
    )
    row = np.zeros(1)
    return Outcome(
        problem=Problem(Target(layers), grid, beam, exposure),
        status=Status.COOLED,
        snapshots=(final,),
        history=History(row, row, row, row, row, row, np.zeros((1, len(LEDGER_TERMS)))),
        ledger=dict.fromkeys(LEDGER_TERMS, 0.0) | {"incident": exposure.energy, "outside": outside},
        removed_mass=2e-9,
        peak_temperature=600.0,
        perforation_time=perforation_time,
        steps=1,
        stages=1,
        cell_updates=1,
        wall_time=0.0,
    )


@pytest.fixture
def outcome_of() -> Callable[..., Outcome]:
    return build_outcome


@pytest.fixture
def media() -> Media:
    return Media()


@pytest.fixture
def depth_edges() -> np.ndarray:
    """Cells of 4 um to 600 um."""
    return np.arange(151) * 4e-6
