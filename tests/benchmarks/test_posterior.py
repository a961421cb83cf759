"""The posterior's script at toy size: priors, kept runs, emulators, likelihood, chains, rows left out."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import kstest, multivariate_t

pytest.importorskip("emcee")
pytest.importorskip("sklearn")

FOLDER = Path(__file__).parents[2] / "benchmarks"


@pytest.fixture(scope="module", autouse=True)
def scripts():
    """The scripts import one another from their folder, which is no package."""
    sys.path.insert(0, str(FOLDER))
    yield
    sys.path.remove(str(FOLDER))


@pytest.fixture(scope="module")
def values(scripts):
    from posterior_values import FAMILY, Value

    return (Value(FAMILY, "film_thickness"), Value(FAMILY, "conductivity_dry"))


def test_shares_run_over_the_stated_range_and_priors_follow_it(values):
    film, dry = values
    assert film.is_calibrated and not dry.is_calibrated
    assert_allclose(film.at(np.array([0.0, film.share, 1.0])), [20.0, 33.0, 50.0])
    for one in values:
        drawn = one.from_uniform((np.arange(2000) + 0.5) / 2000)
        grid = np.linspace(0.0, 1.0, 4001)
        density = np.exp(one.log_prior(grid))
        cumulated = np.cumsum(density) / density.sum()
        assert kstest(drawn, lambda at, g=grid, c=cumulated: np.interp(at, g, c)).statistic < 2e-3
        assert one.log_prior(np.array([-0.01, 1.01])).tolist() == [-np.inf, -np.inf]


def test_every_candidate_sets_the_value_that_it_names():
    from posterior_values import candidates, changes_of

    every = candidates()
    changes = changes_of(every, np.full(len(every), 0.5))
    assert changes["tissue.film_thickness"] == "35.0 um"
    assert changes["liver.rupture_temperature"] == changes["muscle.rupture_temperature"] == "242.5 degC"
    assert changes["skin.rupture_temperature"] == "287.5 degC"
    assert changes["tissue.slope.10.6 um"] == "0.00125 1/K"
    assert len({one.name for one in every}) == len(every)


def test_more_points_only_add_to_a_design(values):
    from posterior_runs import design

    assert np.array_equal(design(values, 5), design(values, 40)[:5])


def test_kept_runs_go_on_where_they_were_cut_off(values, tmp_path, monkeypatch):
    import posterior_runs

    rows = (SimpleNamespace(name="a"), SimpleNamespace(name="b"))
    monkeypatch.setattr(posterior_runs, "rows", lambda: rows)
    asked = []

    def evaluate(row, changes):
        asked.append(row.name)
        return float(changes["tissue.film_thickness"].split()[0])

    monkeypatch.setattr(posterior_runs, "evaluate", evaluate)
    points, kept = posterior_runs.design(values, 6), tmp_path / "runs.csv"
    whole = posterior_runs.runs_of(values, points, kept, workers=1)
    assert_allclose(whole.computed[:, 1], values[0].at(points[:, 0]))
    text = kept.read_text()
    kept.write_text(text[: text.rindex(",")] + "\n")
    asked.clear()
    again = posterior_runs.runs_of(values, points, kept, workers=1)
    assert np.array_equal(whole.computed, again.computed) and len(asked) == 2
    with pytest.raises(ValueError, match="another design"):
        posterior_runs.runs_of(values, points[::-1], kept, workers=1)


def smooth(shares):
    return 0.5 * np.sin(2.0 * shares[:, 0]) + shares[:, 1] ** 2


def test_an_emulator_tells_new_points_and_its_own_error():
    from posterior_emulator import fitted

    rng = np.random.default_rng(0)
    shares, noise = rng.random((80, 3)), 0.02 * rng.normal(size=80)
    emulator = fitted(shares, smooth(shares) + noise, [0, 1])
    new = rng.random((200, 3))
    mean, variance = emulator(new)
    assert np.sqrt(np.mean((mean - smooth(new)) ** 2)) < 0.02
    # Left-out errors hold the noise of the point itself, 0.02, and little more.
    assert_allclose(np.sqrt(variance), emulator.error)
    assert 0.015 < emulator.error < 0.03


def test_a_jump_is_emulated_on_either_side_and_doubted_between():
    from posterior_emulator import branched

    rng = np.random.default_rng(1)
    shares = rng.random((150, 2))
    dries = shares[:, 0] > 0.5
    row = branched(shares, np.where(dries, smooth(shares), -2.0), dries, [0, 1])
    mean, variance = row(np.array([[0.95, 0.5], [0.05, 0.5], [0.5, 0.5]]))
    assert_allclose(mean[:2], [smooth(np.array([[0.95, 0.5]]))[0], -2.0], atol=0.15)
    assert variance[2] > 5.0 * max(variance[:2]) and row.wrong < 0.1


def toy(measured=(0.1, 0.0, 0.6)):
    """Rows that are the first value, the first again from the same experiment, and the second."""
    from posterior_chains import Likelihood

    def row(place):
        return lambda shares: (shares[:, place] - 0.5, np.full(len(shares), 1e-4))

    return Likelihood((row(0), row(0), row(1)), np.full(3, 0.05**2), np.array([0, 0, 2]), np.array(measured))


def test_density_of_an_experiment_is_a_multivariate_t():
    from posterior_chains import FREEDOM

    likelihood = toy()
    shares = np.array([[0.4, 0.8], [0.7, 0.1]])
    doubt, tie = np.array([0.2, 0.05]), np.array([0.3, 0.9])
    found = likelihood.computed(shares)
    got = likelihood.log_density(found, doubt, tie)
    for place in range(2):
        own = 0.05**2 + 1e-4 + doubt[place] ** 2 * (1.0 - tie[place])
        shared = doubt[place] ** 2 * tie[place]
        pair = multivariate_t(found.means[place, :2], own * np.eye(2) + shared, df=FREEDOM)
        single = multivariate_t([found.means[place, 2]], [[own + shared]], df=FREEDOM)
        measured = likelihood.measured
        assert_allclose(got[place], pair.logpdf(measured[:2]) + single.logpdf(measured[2:]), rtol=1e-10)


@pytest.fixture(scope="module")
def chains(values):
    from posterior_chains import chains_of

    return chains_of(values, toy(), 1500, seed=1, ensembles=2, thin=2)


def test_chains_agree_with_the_density_on_a_grid(values, chains):
    from posterior_chains import log_posterior

    first, doubt, tie = np.meshgrid(
        np.linspace(0.005, 0.995, 40),
        np.linspace(-6.9, 0.5, 40),
        np.linspace(0.025, 0.975, 20),
        indexing="ij",
    )
    columns = [first.ravel(), np.full(first.size, 0.6), doubt.ravel(), tie.ravel()]
    # The second value is alone in its row: its own part of the density is summed over a grid as well.
    total = np.zeros(first.size)
    for second in np.linspace(0.025, 0.975, 20):
        columns[1] = np.full(first.size, second)
        total += np.exp(log_posterior(values, toy(), np.column_stack(columns)))
    mean = np.sum(total * first.ravel()) / total.sum()
    spread = np.sqrt(np.sum(total * first.ravel() ** 2) / total.sum() - mean**2)
    drawn = chains.flat[:, 0]
    # Chains of this length know the mean to a tenth of the spread.
    assert_allclose(drawn.mean(), mean, atol=0.15 * spread)
    assert_allclose(drawn.std(), spread, rtol=0.15)


def test_chains_know_how_well_they_mixed(chains):
    assert chains.ratios.max() < 1.05
    assert np.all(chains.sizes < chains.flat.shape[0])
    apart = type(chains)(chains.draws + np.array([0.0, 3.0])[:, None, None, None])
    assert apart.ratios.min() > 1.5


def test_a_row_left_out_by_weights_is_as_left_out_by_new_chains(values, chains, monkeypatch):
    import posterior_checks
    from posterior_chains import chains_of

    likelihood = toy()
    found = likelihood.computed(chains.flat[:, :-2])

    def again(rows):
        return chains_of(values, likelihood, 1500, seed=5, ensembles=2, rows=rows, thin=2).flat

    [by_weights] = posterior_checks.left_out([1], chains.flat, found, likelihood, again)
    monkeypatch.setattr(posterior_checks, "ENOUGH", np.inf)
    [by_chains] = posterior_checks.left_out([1], chains.flat, found, likelihood, again)
    assert_allclose(by_weights.rank, by_chains.rank, atol=0.06)
    assert_allclose(
        np.log([by_weights.low, by_weights.high]), np.log([by_chains.low, by_chains.high]), rtol=0.15
    )
    assert by_weights.covered(0.9)


def test_a_row_far_from_the_others_is_outside_its_interval(values):
    import posterior_checks
    from posterior_chains import chains_of

    likelihood = toy((0.3, -0.45, 0.0))
    flat = chains_of(values, likelihood, 600, seed=2, ensembles=1).flat
    found = likelihood.computed(flat[:, :-2])

    def again(rows):
        return chains_of(values, likelihood, 600, seed=3, ensembles=1, rows=rows).flat

    [one] = posterior_checks.left_out([1], flat, found, likelihood, again)
    assert not one.covered(0.5)


def test_true_values_of_made_rows_are_found_again(values):
    from posterior_checks import recovered

    found = recovered(values, toy(), 12, 500, 1, lambda *state: None)
    # Of 12 by 4 intervals of 90 %, 43 hold on average, with a deviation of 2 if they were independent.
    assert found.hits.shape == (4,) and 36 <= found.hits.sum() <= 48
