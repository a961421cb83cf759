"""The march: ledger, endings, records and what it refuses to lose."""

import dataclasses
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.model.beam import Beam, Profile
from spotdwell.model.columns import Geometry
from spotdwell.model.exposure import carried, gated, steady
from spotdwell.model.grid import GridRequest, choose_grid
from spotdwell.model.material import DamageProcess, Medium, Pyrolysis, Removal
from spotdwell.model.problem import Ending, Problem
from spotdwell.model.target import Backing, Layer, Surface, Target
from spotdwell.solve import march as marching
from spotdwell.solve.march import march, marched
from spotdwell.solve.outcome import LEDGER_TERMS, Status

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
    reflectance=0.01,
    pyrolysis=Pyrolysis(1e12, 160e3, 1e6, 0.25),
    removal=Removal(
        rupture_temperature=513.15,
        rupture_water_share=0.6,
        steam_escape_time=2e-3,
        film_thickness=30e-6,
        film_growth=0.2,
        debris_heat=3e9,
    ),
    damage=(DamageProcess("collagen", "collagen", 1.606e45, 3.06e5),),
)


def problem_of(*layers, exposure=None, irradiance=3e7, request=None, ending=None, surface=None, **target):
    """A slab of 1 mm2 under `irradiance` for 2 ms unless said."""
    exposure = exposure or steady(irradiance * 1e-6, 2e-3)
    request = request or GridRequest(geometry=Geometry.SLAB, area=1e-6, cell_depth=8e-6, depth=0.6e-3)
    ending, surface = ending or Ending(6e-3), surface or Surface()
    built = Target(tuple(layers) or (Layer(TISSUE, math.inf),), **target)
    beam = Beam(10.6e-6, math.sqrt(1e-6 / math.pi), Profile.FLAT_TOP, plume_transmittance=0.95)
    return Problem(built, choose_grid(built, beam, exposure, request), beam, exposure, surface, ending)


@pytest.fixture(scope="module")
def ablated():
    return marched(dataclasses.replace(problem_of(irradiance=6e7), save_times=(1e-3, 2e-3)))


def test_the_ledger_closes_on_an_ablating_slab(ablated):
    assert ablated.ledger_error < 1e-12
    assert ablated.final.floor[0] > 0
    used = {name for name, value in ablated.ledger.items() if value > 0.0}
    assert used >= {"incident", "reflected", "plume", "stored", "latent", "vented", "carried"}
    assert list(ablated.ledger) == list(LEDGER_TERMS)


def test_the_ledger_of_every_recorded_step_closes(ablated):
    rows = ablated.history.ledger
    assert_allclose(rows[:, 0], rows[:, 1:].sum(axis=1), atol=1e-12 * rows[-1, 0])


def test_a_ledger_with_a_missing_term_is_seen(ablated):
    broken = dataclasses.replace(ablated, ledger=ablated.ledger | {"vented": 0.0})
    assert broken.ledger_error > 1e-3


def test_fields_are_kept_at_the_asked_times_and_at_the_end(ablated):
    assert [snapshot.time for snapshot in ablated.snapshots] == [1e-3, 2e-3, 6e-3]
    depths = [snapshot.crater_depth[0] for snapshot in ablated.snapshots]
    assert 0.0 < depths[0] < depths[1] <= depths[2]


def test_history_begins_at_rest_and_ends_with_the_last_state(ablated):
    history = ablated.history
    assert (history.time[0], history.time[-1]) == (0.0, 6e-3)
    assert history.crater_depth[-1] == ablated.final.crater_depth[0]
    assert np.all(np.diff(history.deepest) >= 0.0)
    assert set(history.power[(history.time > 0) & (history.time <= 2e-3)]) == {60.0}


def test_nothing_is_hotter_than_the_peak_or_colder_than_the_surroundings(ablated):
    there = ~ablated.final.gone()
    assert ablated.final.temperature[there].max() <= ablated.peak_temperature
    assert ablated.final.temperature[there].min() > 295.15 - 1e-6


def test_a_run_ends_once_all_is_harmless():
    outcome = marched(problem_of(ending=Ending(), irradiance=1e6))
    assert outcome.status is Status.COOLED
    assert outcome.final.temperature.max() < 318.15
    assert outcome.history.peak_temperature[-2] >= 318.15


def test_a_target_that_stays_warm_ends_at_the_longest_time():
    outcome = marched(problem_of(ending=Ending(longest=5e-3), irradiance=1e6))
    assert (outcome.status, outcome.final.time) == (Status.STILL_WARM, 5e-3)


def test_a_sheet_over_open_air_is_perforated_and_lets_the_beam_through():
    sheet = Layer(TISSUE, 40e-6)
    outcome = marched(problem_of(sheet, backing=Backing.OPEN_AIR, irradiance=1e8))
    assert outcome.perforation_time is not None
    assert 0.0 < outcome.perforation_time < 2e-3
    assert outcome.ledger["transmitted"] > 0.1 * outcome.ledger["incident"]
    assert outcome.ledger_error < 1e-12
    assert_allclose(outcome.removed_mass, 1090.0 * 40e-6 * 1e-6, rtol=1e-12)
    assert math.isnan(outcome.history.surface_temperature[-1])


def test_a_crater_that_reaches_an_insulated_bottom_ends_the_run():
    outcome = marched(problem_of(Layer(TISSUE, 40e-6), irradiance=1e8))
    assert outcome.status is Status.BOTTOM_REACHED


def test_a_layered_target_of_one_material_equals_the_plain_one():
    request = GridRequest(geometry=Geometry.SLAB, area=1e-6, cell_depth=8e-6, depth=0.6e-3, stretch=False)
    layered = (Layer(TISSUE, 80e-6), Layer(TISSUE, math.inf))
    outcomes = [marched(problem_of(*layers, request=request)) for layers in ((), layered)]
    assert outcomes[0].problem.grid.depth.size == outcomes[1].problem.grid.depth.size
    for field in ("temperature", "water", "conversion"):
        one, two = (getattr(outcome.final, field) for outcome in outcomes)
        assert_allclose(one, two, rtol=1e-9, atol=1e-9)


def test_zero_power_leaves_the_target_alone():
    outcome = marched(problem_of(irradiance=0.0, surface=Surface(0.0, 310.15, radiates=False)))
    assert outcome.ledger["stored"] == 0.0
    assert_allclose(outcome.final.temperature, 310.15, rtol=1e-15)


@pytest.mark.parametrize(
    "exposure",
    [gated(20.0, 0.5e-3, 0.5e-3, 3), carried(steady(20.0, 2e-3), 80.0, 50e-6, 5e3)],
    ids=["gated", "carried"],
)
def test_every_joule_of_a_train_arrives(exposure):
    outcome = marched(problem_of(exposure=exposure))
    assert_allclose(outcome.ledger["incident"], exposure.energy, rtol=1e-12)
    assert outcome.ledger_error < 1e-12


def test_an_interrupted_march_can_be_closed():
    steps = march(problem_of())
    assert 1 <= next(steps).steps < marched(problem_of()).steps
    steps.close()


def test_rings_and_quarter_lattice_close_their_ledgers():
    beam = Beam(10.6e-6, 100e-6)
    exposure = steady(2.0, 1e-3)
    target = Target((Layer(TISSUE, math.inf),))
    for geometry, symmetry in ((Geometry.AXISYMMETRIC, 1), (Geometry.LATTICE, 4)):
        request = GridRequest(
            geometry, cell_depth=10e-6, cell_width=40e-6, depth=0.4e-3, half_width=0.5e-3, symmetry=symmetry
        )
        grid = choose_grid(target, beam, exposure, request)
        outcome = marched(Problem(target, grid, beam, exposure, ending=Ending(2e-3)))
        assert outcome.ledger_error < 1e-12
        assert_allclose(outcome.ledger["incident"], 2e-3, rtol=1e-12)
        assert outcome.final.floor.max() > 0


def test_debris_is_booked_as_the_plume_s():
    clear = dataclasses.replace(TISSUE, removal=dataclasses.replace(TISSUE.removal, debris_heat=0.0))
    loaded, plain = (
        marched(problem_of(Layer(medium, math.inf), irradiance=6e7)) for medium in (TISSUE, clear)
    )
    assert_allclose(plain.ledger["plume"], 0.05 * 6e7 * 1e-6 * 2e-3, rtol=1e-12)
    taken = loaded.ledger["plume"] - plain.ledger["plume"]
    owed = 3e9 * 1e-6 * loaded.final.crater_depth[0]
    # All that was thrown out owes 3 kJ/cm3, and what is owed at the end, over the time in which a cell
    # follows another, some 0.3 of 2 ms, goes free.
    assert 0.7 * owed < taken < owed
    assert loaded.final.crater_depth[0] < plain.final.crater_depth[0]


def test_the_film_makes_damage_wider_and_craters_shallower():
    bare = dataclasses.replace(TISSUE, removal=dataclasses.replace(TISSUE.removal, film_thickness=0.0))
    filmed, plain = (
        marched(problem_of(Layer(medium, math.inf), irradiance=2e8)) for medium in (TISSUE, bare)
    )
    assert filmed.final.crater_depth[0] < plain.final.crater_depth[0]
    reach = [coagulated(outcome) - outcome.final.crater_depth[0] for outcome in (filmed, plain)]
    # Where some 100 um have been thrown out the film is 15 um thick.
    assert reach[0] > reach[1] + 8e-6


def coagulated(outcome):
    """Depth down to which the first process reached 1, between cell centres [m]."""
    omega, depth = outcome.final.damage[0, 0], outcome.problem.grid.depth
    last = int(np.flatnonzero(omega >= 1.0).max())
    high, low = math.log(omega[last]), math.log(max(omega[last + 1], 1e-300))
    return float(depth[last] + (depth[last + 1] - depth[last]) * high / (high - low))


def test_damage_added_up_every_fourth_step_bounds_the_same_zone(monkeypatch, ablated):
    monkeypatch.setattr(marching, "_DAMAGE_STEPS", 1)
    each = marched(dataclasses.replace(problem_of(irradiance=6e7), save_times=(1e-3, 2e-3)))
    # The march itself is the same; the zone's edge moves by 0.6 um where the zone is 26 um wide, in steps of
    # up to 60 K.
    assert_allclose(each.final.temperature, ablated.final.temperature, rtol=1e-12)
    assert 0.0 < abs(coagulated(each) - coagulated(ablated)) < 0.8e-6


def test_escaping_steam_keeps_a_slowly_heated_surface_near_boiling():
    superheats = []
    for escape in (2e-3, 2e-4):
        fast = dataclasses.replace(
            TISSUE, removal=dataclasses.replace(TISSUE.removal, steam_escape_time=escape)
        )
        exposure = steady(2.0, 20e-3)
        outcome = marched(problem_of(Layer(fast, math.inf), exposure=exposure, ending=Ending(20e-3)))
        assert outcome.ledger["latent"] > 0.2 * outcome.ledger["incident"]
        assert outcome.final.floor[0] == 0
        wet = outcome.final.water > 0.5 * 763.0
        superheats.append(outcome.final.temperature[wet].max() - 373.15)
    # Heating times escape time, as long as little is conducted: 40 K and a tenth of it.
    assert 20.0 < superheats[0] < 60.0
    assert 0.05 < superheats[1] / superheats[0] < 0.25


@pytest.mark.compiled
def test_steam_that_escapes_in_no_time_does_not_stop_the_march():
    quick = dataclasses.replace(TISSUE, removal=dataclasses.replace(TISSUE.removal, steam_escape_time=1e-15))
    assert marched(problem_of(Layer(quick, math.inf), irradiance=6e7)).steps < 10_000
