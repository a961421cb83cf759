"""Posterior of the closure given the published rows: python benchmarks/posterior.py.

It runs every row at points that fill the ranges of the values and at points where the rows agree best (a file
keeps them, so that it can be stopped), emulates the rows, samples, checks, and writes
materials/posterior.csv, which intervals are drawn from, and sim/posterior.png (THEORY.md, Posterior).
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

import posterior_picture
from posterior_chains import Chains, Likelihood, chains_of
from posterior_checks import LEVELS, Prediction, left_out, recovered, summary
from posterior_emulator import Branches, Emulator, branched, fitted, logs
from posterior_runs import BLIND, FAINT, UNSEEN, Runs, design, runs_of, screened
from posterior_values import Value, candidates
from spotdwell.console.progress import Watch
from spotdwell.evidence.published import Row, rows

Array = NDArray[np.float64]
AnyEmulator = Emulator | Branches

ROOT = Path(__file__).resolve().parents[1]
TABLE = ROOT / "materials" / "posterior.csv"
PICTURE = ROOT / "sim" / "posterior.png"
DRAWS = 200
SEED = 7
DRY = 150.0
"""Surface between stacked pulses [degC] above which it dries and stays; below, every pulse throws it out."""
CREDIBLE = 2.0
"""A row's spread counts as that many standard deviations."""


@dataclass(frozen=True, eq=False)
class Study:
    """Rows that say something, and the values that they see."""

    values: tuple[Value, ...]
    """In the chains."""
    places: NDArray[np.intp]
    """Of those among all candidates."""
    rows: tuple[Row, ...]
    screen: Array
    """How far each of the values moves each of the rows, over the row's spread."""

    def seen(self, row: Row) -> list[int]:
        """Values that move a row; the four of stacked pulses share theirs: one course decides them all."""
        family = [one.name.startswith("V13") and row.name.startswith("V13") for one in self.rows]
        columns = [one is row or alike for one, alike in zip(self.rows, family, strict=True)]
        return [int(one) for one in np.flatnonzero(self.screen[:, columns].max(axis=1) > FAINT)]


def study_of(folder: Path) -> Study:
    """Values and rows, by one value at a time."""
    every = candidates()
    screen = screened(every, folder / "screen.csv")
    places = np.flatnonzero(screen.max(axis=1) > UNSEEN)
    kept = [index for index, row in enumerate(rows()) if row.name not in BLIND]
    return Study(
        tuple(every[one] for one in places),
        places,
        tuple(rows()[one] for one in kept),
        screen[np.ix_(places, kept)],
    )


def emulators_of(study: Study, runs: Runs) -> tuple[AnyEmulator, ...]:
    """Of every row, from direct runs."""
    names = [row.name for row in rows()]
    found: list[AnyEmulator] = []
    with Watch(False, "emulators", solves=False) as watch:
        for done, row in enumerate(study.rows, 1):
            computed = runs.computed[:, names.index(row.name)]
            known = ~np.isnan(computed)
            shares, told = runs.shares[known][:, study.places], logs(computed[known], row.measured)
            if row.name.startswith("V13"):
                surface = names.index(f"V13 surface, {row.name.partition(', ')[2]}")
                dries = runs.computed[known, surface] > DRY
                found.append(branched(shares, told, dries, study.seen(row)))
            else:
                found.append(fitted(shares, told, study.seen(row)))
            watch.count(done, len(study.rows), 0.0)
    return tuple(found)


def likelihood_of(study: Study, emulators: Sequence[AnyEmulator]) -> Likelihood:
    """Rows as measured: 0 each, as a logarithm over itself."""
    scatter = [(np.log1p(row.spread / row.measured) / CREDIBLE) ** 2 for row in study.rows]
    names = [_experiment(row) for row in study.rows]
    groups = np.array([names.index(one) for one in names])
    return Likelihood(tuple(emulators), np.array(scatter), groups, np.zeros(len(names)))


def _experiment(row: Row) -> str:
    """Rows of one quantity from one laboratory err together, as do both that tell what Er:YAG removes."""
    return "removed" if row.name.startswith("Er:YAG removed") else f"{row.source} {row.quantity}"


def main() -> None:
    asked, began = _asked(), time.monotonic()
    folder: Path = asked.folder
    folder.mkdir(parents=True, exist_ok=True)
    every = candidates()
    study = study_of(folder)
    print(f"{len(study.values)} of {len(every)} values move a row by more than {UNSEEN:g} of its spread")
    wide = runs_of(every, design(every, asked.points), folder / "wide.csv", asked.workers)
    first = emulators_of(study, wide)
    chains = _sampled(study, likelihood_of(study, first), asked.steps // 2, asked.seed)
    near = runs_of(every, _near(every, study, chains, asked.near), folder / "near.csv", asked.workers)
    both = Runs(np.vstack([wide.shares, near.shares]), np.vstack([wide.computed, near.computed]))
    emulators = emulators_of(study, both)
    errors(study, first, near, emulators)
    likelihood = likelihood_of(study, emulators)
    chains = _sampled(study, likelihood, asked.steps, asked.seed)
    diagnostics(study, chains)
    write(asked.table, study, chains, asked)
    predictions = coverage(study, likelihood, chains, asked)
    posterior_picture.save(asked.picture, study.values, study.rows, chains, likelihood, predictions)
    if asked.recoveries:
        recovery(study, likelihood, asked)
    print(f"It took {(time.monotonic() - began) / 60.0:.0f} min, less what was kept from an earlier run.")


def _asked() -> argparse.Namespace:
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--points", type=int, default=192, help="over the ranges")
    options.add_argument("--near", type=int, default=64, help="where the rows agree best")
    options.add_argument("--steps", type=int, default=4000, help="of each of four ensembles")
    options.add_argument(
        "--recoveries", type=int, default=40, help="fits to rows that the model made; 0 for none"
    )
    options.add_argument("--workers", type=int, default=None, help="processes; as many as cores unless said")
    options.add_argument("--seed", type=int, default=SEED)
    options.add_argument(
        "--folder", type=Path, default=ROOT / "build" / "posterior", help="keeps direct runs"
    )
    options.add_argument("--table", type=Path, default=TABLE)
    options.add_argument("--picture", type=Path, default=PICTURE)
    return options.parse_args()


def _sampled(study: Study, likelihood: Likelihood, steps: int, seed: int) -> Chains:
    with Watch(False, "steps", solves=False) as watch:
        return chains_of(study.values, likelihood, steps, seed, watch.count)


def _near(every: Sequence[Value], study: Study, chains: Chains, count: int) -> Array:
    """Points out of a posterior; values outside the chains are drawn from their priors."""
    rng = np.random.default_rng(SEED)
    points = np.column_stack([one.from_uniform(rng.random(count)) for one in every])
    points[:, study.places] = _even(chains.flat, count)[:, :-2]
    return points


def _even(flat: Array, count: int) -> Array:
    """Draws spread evenly over chains."""
    return flat[np.linspace(0, len(flat) - 1, count).astype(int)]


def errors(study: Study, first: Sequence[AnyEmulator], near: Runs, last: Sequence[AnyEmulator]) -> None:
    """Print what the emulators miss: direct runs that they were not made from, and each point left out."""
    names = [row.name for row in rows()]
    print(
        f"\n{'emulator':38s} {'new runs':>9s} {'in sigmas':>9s} {'left out':>9s} {'spread':>7s} (rms of logs)"
    )
    for row, before, after in zip(study.rows, first, last, strict=True):
        computed = near.computed[:, names.index(row.name)]
        known = ~np.isnan(computed)
        mean, variance = before(near.shares[known][:, study.places])
        miss = mean - logs(computed[known], row.measured)
        new = (
            f"{_rms(miss):9.3f} {_rms(miss / np.sqrt(variance)):9.2f}"
            if known.any()
            else f"{'-':>9s} {'-':>9s}"
        )
        print(f"{row.name:38s} {new} {after.error:9.3f} {np.log1p(row.spread / row.measured):7.3f}")


def _rms(values: Array) -> float:
    return float(np.sqrt(np.mean(values**2)))


def diagnostics(study: Study, chains: Chains) -> None:
    """Print each parameter's interval beside its range, and how well it was sampled."""
    names = [*(one.name for one in study.values), "left out [log]", "shared within an experiment"]
    times, ratios, sizes = chains.times, chains.ratios, chains.sizes
    print(
        f"\n{'value':46s} {'range':>21s} {'5 %':>9s} {'median':>9s} {'95 %':>9s} {'tau':>6s} {'R-hat':>6s} "
        f"{'ESS':>6s}"
    )
    for place, name in enumerate(names):
        quantiles = np.quantile(chains.flat[:, place], (0.05, 0.5, 0.95))
        span = ""
        if place < len(study.values):
            one = study.values[place]
            quantiles = one.at(quantiles)
            span = f"{one.stated[0]:.4g} to {one.stated[2]:.4g}"
        elif place == len(study.values):
            quantiles = np.exp(quantiles)
        numbers = " ".join(f"{value:9.4g}" for value in quantiles)
        print(
            f"{name:46s} {span:>21s} {numbers} {times[place]:6.1f} {ratios[place]:6.3f} {sizes[place]:6.0f}"
        )
    longest, ratio, least = summary(chains)
    print(f"longest autocorrelation {longest:.1f} kept steps of {chains.draws.shape[1]}, "
          f"R-hat at most {ratio:.3f}, effective size at least {least:.0f}")  # fmt: skip


def write(path: Path, study: Study, chains: Chains, asked: argparse.Namespace) -> None:
    """Write the table of draws, values in their files' units."""
    draws = _even(chains.flat, DRAWS)
    columns = [one.at(draws[:, place]) for place, one in enumerate(study.values)]
    heads = [f"{one.name} [{one.unit or '1'}]" for one in study.values]
    command = (
        f"python benchmarks/posterior.py --points {asked.points} --near {asked.near} --steps {asked.steps} "
        f"--seed {asked.seed}"
    )
    lines = [
        "# Joint draws of the closure given the published rows (THEORY.md, Posterior); made, not edited.",
        f"# Command: {command}",
        f"# Seed: {asked.seed}",
        f"# Rows: {'; '.join(row.name.replace(',', '') for row in study.rows)}",
        "# left out: what the model leaves out of a row, the scale of a Student's t of 4 degrees of freedom",
        ",".join([*heads, "left out [log]"]),
        *(
            ",".join(f"{value:.5g}" for value in (*(one[index] for one in columns), np.exp(draws[index, -2])))
            for index in range(DRAWS)
        ),
    ]
    path.write_text("\n".join(lines) + "\n")
    print(f"\nWrote {path}")


def coverage(
    study: Study, likelihood: Likelihood, chains: Chains, asked: argparse.Namespace
) -> list[Prediction]:
    """Print every row as the others predict it, and how often intervals hold what was measured."""
    flat = _even(chains.flat, 8000)
    found = likelihood.computed(flat[:, :-2])

    def again(kept: Sequence[int]) -> Array:
        new = chains_of(study.values, likelihood, asked.steps // 2, asked.seed + 1, ensembles=1, rows=kept)
        return _even(new.flat, 8000)

    predictions = []
    print(
        f"\n{'row left out':38s} {'measured':>9s} {'5 %':>9s} {'median':>9s} {'95 %':>9s} {'50 %':>5s} "
        f"{'90 %':>5s} {'draws':>6s}"
    )
    for place, row in enumerate(study.rows):
        [one] = left_out([place], flat, found, likelihood, again)
        numbers = " ".join(f"{row.measured * value:9.4g}" for value in (one.low, one.median, one.high))
        marks = " ".join(f"{'in' if one.covered(level) else 'out':>5s}" for level in LEVELS)
        print(f"{row.name:38s} {row.measured:9.4g} {numbers} {marks} {one.size:6.0f}", flush=True)
        predictions.append(one)
    _count("One row left out", predictions)
    sources = list(dict.fromkeys(row.source for row in study.rows))
    by_source = [[place for place, row in enumerate(study.rows) if row.source == one] for one in sources]
    alone = [one for away in by_source for one in left_out(away, flat, found, likelihood, again)]
    _count(f"All rows of one of {len(sources)} sources left out", alone)
    print("The narrow hole, where nothing is removed at any point, counts as missed.")
    return predictions


def _count(title: str, predictions: Sequence[Prediction]) -> None:
    total = len(rows())
    for level in LEVELS:
        held = sum(one.covered(level) for one in predictions)
        values = sum(one.covered(level, True) for one in predictions)
        print(
            f"{title}: {level:.0%} intervals hold {held} of {total} rows; "
            f"without what the model leaves out {values}"
        )


def recovery(study: Study, likelihood: Likelihood, asked: argparse.Namespace) -> None:
    """Print how often true values are found again."""
    with Watch(False, "fits", solves=False) as watch:
        found = recovered(
            study.values, likelihood, asked.recoveries, asked.steps // 2, asked.workers, watch.count
        )
    names = [*(one.name for one in study.values), "left out", "shared"]
    print(f"\n90 % intervals that hold the true value, of {found.runs} fits:")
    for name, hits in zip(names, found.hits, strict=True):
        print(f"{name:46s} {hits:4.0f}")
    share = found.hits.sum() / (found.runs * found.hits.size)
    print(f"{share:.3f} of all, from {found.hits.min():.0f} to {found.hits.max():.0f}")


if __name__ == "__main__":
    main()
