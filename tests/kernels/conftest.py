"""Small problems on which the kernels run in moments, compiled or not."""

import dataclasses
import math

import numpy as np
import pytest

from spotdwell.kernels import absorb, books, change, conduct, implicit, ready
from spotdwell.kernels.entry import called
from spotdwell.kernels.slots import BOOKED, MASS, Tally, Term
from spotdwell.model.beam import Beam
from spotdwell.model.columns import lattice, rings, slab
from spotdwell.model.exposure import steady
from spotdwell.model.material import DamageProcess, Medium, Pyrolysis, Removal
from spotdwell.model.problem import Ending, Grid, Problem
from spotdwell.model.target import Layer, Surface, Target
from spotdwell.solve import state as layout

TISSUE = Medium(
    "tissue",
    solid_density=327.0,
    water_density=763.0,
    specific_heat_solid=1550.0,
    conductivity=0.46,
    conductivity_dry=0.15,
    conductivity_char=0.1,
    absorption_coefficient_water=8.46e4,
    absorption_coefficient_solid=1e4,
    pyrolysis=Pyrolysis(1e12, 160e3, 1e6, 0.25),
    removal=Removal(rupture_temperature=513.15, rupture_water_share=0.6, steam_escape_time=2e-3),
    damage=(DamageProcess("collagen", "collagen", 1.606e45, 3.06e5),),
)
DRY = Medium("dry", 1000.0, 0.0, 2000.0, 0.5, 0.5, 0.5, 0.0, 5e4)
FILM = Medium("film", 0.0, 997.0, 1000.0, 0.6, 0.6, 0.6, 8.46e4, 0.0)

COLUMNS = {
    "slab": slab(1e-6),
    "rings": rings(np.array([0.0, 20e-6, 50e-6, 80e-6])),
    "lattice": lattice(np.array([0.0, 20e-6, 50e-6]), np.array([0.0, 30e-6, 50e-6])),
    "even": lattice(np.arange(4) * 20e-6, np.arange(4) * 30e-6),
}
CLEARING = 1e-4
"""Time in which debris clears the beam [s]."""

make_ready = called(ready.make_ready)
absorb_beam = called(absorb.absorb_beam)
super_step = called(conduct.super_step)
change_tissue = called(change.change_tissue)
held_heat = called(books.held_heat)
rest = called(absorb.rest)


class Booked:
    """What a change of tissue booked."""

    def __init__(self, booked):
        self.latent, self.vented, self.reaction = booked[[Term.LATENT, Term.VENTED, Term.REACTION]]
        self.carried, self.blood, self.mass = booked[[Term.CARRIED, Term.BLOOD, MASS]]
        self.heat = booked[:MASS].sum()


class Bench:
    """The arrays of one problem, and the calls that a step makes of them."""

    def __init__(self, problem):
        self.problem = problem
        self.mesh = layout.mesh_of(problem.grid)
        self.media = layout.media_of(problem)
        self.state = layout.initial_state(problem, self.media)
        self.still = layout.still_of(self.mesh, self.media, problem.target.backing)
        self.work = layout.work_arrays(
            self.mesh, self.still, problem.surface.ambient_temperature - problem.target.initial_temperature
        )
        n, cells = problem.grid.columns.count, problem.grid.depth.size
        self.last = np.full(n, cells, dtype=np.int64)
        self.lit = np.zeros(n, dtype=np.int64)
        self.moved = 0.0

    def warm(self, rises):
        """Cells that have been at these rises [K] for a while: damage is added up from there."""
        self.state.temperature[:] = self.state.damage_rise[:] = rises
        return self

    def stir(self):
        """Cells at rises of chance up to 50 K, the same at each call."""
        self.state.temperature[:] = 50.0 * np.random.default_rng(1).random(self.state.temperature.shape)
        return self

    def open(self):
        """Get ready for a step; returns the highest relaxation rate [1/s]."""
        s = self.state
        touched = (s.water != self.media.initial_water) | (s.conversion > 0.0)
        whole = np.minimum(s.floor, touched.shape[1] - 1)
        touched[np.arange(whole.size), whole] |= s.left != 1.0
        s.changed[:] = np.where(touched.any(axis=1), touched.shape[1] - touched[:, ::-1].argmax(axis=1), 0)
        surround = layout.surroundings(self.problem)
        return make_ready(
            self.mesh, self.media, self.still, surround, s, self.lit, self.last, self.work, 0
        )  # fmt: skip

    def shine(self, power, transmittance=1.0, step=1e-5):
        """Absorb `power` on each column [W]; returns reflected, plume, transmitted [W] and the pace [1/s]."""
        self.open()
        budget = np.zeros(len(Term))
        pace = absorb_beam(
            self.mesh, self.media, self.still, self.state, np.asarray(power, dtype=float), transmittance,
            step, CLEARING, self.work, self.lit, budget,
        )  # fmt: skip
        return budget[[Term.REFLECTED, Term.PLUME, Term.TRANSMITTED]], pace

    def conduct(self, step, stages):
        """One super step; returns the heat lost through floors and through the bottom [J]."""
        self.open()
        floor, lit = self.state.floor, np.full_like(self.lit, self.problem.grid.depth.size)
        return super_step(self.mesh, self.still, floor, self.last, lit, self.work, step, stages)

    def conduct_apart(self, step):
        """The same by implicit stages down the columns and along the rows."""
        self.open()
        tally = np.zeros(len(Tally))
        tally[Tally.PENDING] = step
        implicit.conduct_apart(self.still, self.state.floor, self.last, self.work, tally, self.mesh)
        return tally[Tally.LOST], tally[Tally.BELOW]

    def gain(self, heat=0.0):
        """Open a step and give each cell of column 0 its gain of enthalpy [J/m3], as conduction would."""
        self.open()
        self.work.current[:] = self.work.start
        self.work.current[0] += heat
        return self

    def change(self, step, elapsed=None):
        """Change tissue over `step`, adding damage up for `elapsed` [s], the step itself unless said.

        Returns latent, vented, reaction, carried and blood heat [J] and removed mass [kg]; most cells that a
        front moved over stay in `moved`.
        """
        target, booked = self.problem.target, np.zeros(BOOKED)
        ambient = self.problem.surface.ambient_temperature - target.initial_temperature
        _, _, self.moved = change_tissue(
            self.mesh, self.media, self.still, self.state, self.work, self.last, step,
            step if elapsed is None else elapsed, target.initial_temperature, ambient, booked,
        )  # fmt: skip
        return Booked(booked)

    def rest(self, step):
        """Let film and debris settle without a beam."""
        rest(self.mesh, self.media, self.state, np.zeros(self.mesh.area.size), step, CLEARING)

    def heat(self):
        """What the target holds [J]."""
        media, s, heat = self.media, self.state, 0.0
        for i, (top, end) in enumerate(zip(s.floor, self.last, strict=True)):
            heat += self.mesh.area[i] * held_heat(
                self.mesh.cell, media.solid_capacity, media.capacity_loss, media.liquid_capacity,
                media.water_heat, self.still.capacity, s.changed[i], top, end, s.left[i],
                s.temperature[i], s.water[i], s.conversion[i],
            )  # fmt: skip
        return heat

    def total(self, booked):
        """Heat of the target and all that has left it [J]."""
        return self.heat() + booked.heat


@pytest.fixture
def bench():
    def make(*layers, columns="slab", height=5e-6, surface=None, **target):
        """A bench with layers given as (medium, cells), on even cells of `height`."""
        counts = [count for _, count in layers]
        cells = sum(counts)
        grid = Grid(
            COLUMNS[columns],
            np.arange(cells + 1) * height,
            np.repeat(np.arange(len(layers), dtype=np.int64), counts),
        )
        built = tuple(Layer(medium, count * height) for medium, count in layers)
        surface = surface or Surface(0.0, 310.15, radiates=False)
        return Bench(
            Problem(
                Target(built, **target),
                grid,
                Beam(10.6e-6, 50e-6),
                steady(1.0, 1e-3),
                surface,
                Ending(math.inf),
            )
        )

    return make


@pytest.fixture
def tissue():
    return TISSUE


@pytest.fixture
def dry():
    return DRY


@pytest.fixture
def film():
    return FILM


@pytest.fixture
def removing():
    def make(medium, **values):
        """`medium` with other values of its removal."""
        return dataclasses.replace(medium, removal=dataclasses.replace(medium.removal, **values))

    return make
