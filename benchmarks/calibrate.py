"""Refit the closure to the published rows and print every residual: python benchmarks/calibrate.py [runs].

Two fits of 60 trials, unless told otherwise, take some six minutes on one core. It writes nothing: what a
material file says is decided by evidence, of which these fits are a part.
"""

from __future__ import annotations

import sys

from spotdwell.study.evidence.calibrate import ACRYLIC, TISSUE, Fit, fit, misfit
from spotdwell.study.evidence.published import Row, evaluate, rows


def main(trials: int) -> None:
    acrylic = tuple(row for row in rows() if row.name.startswith("V12"))
    char = tuple(row for row in rows() if row.name.startswith("V13 char"))
    tissue = tuple(row for row in rows() if row not in acrylic and row not in char)
    print("acrylic", fit(acrylic, ACRYLIC, 20))
    every = fit(tissue, TISSUE, trials, report)
    print("tissue, all rows", every)
    removed = tuple(row for row in tissue if not row.name.startswith("V9"))
    without = fit(removed, TISSUE, trials, report)
    print("tissue, without the corneal thresholds", without)
    table(every, without)


def report(changes: object, cost: float) -> None:
    print(f"  {cost:8.3f} {changes}", flush=True)


def table(*fits: Fit) -> None:
    print(f"{'row':34s} {'measured':>18s} {'as shipped':>14s}" + "".join(f"{'fit':>14s}" for _ in fits))
    for row in rows():
        found = [evaluate(row), *(evaluate(row, one.values) for one in fits)]
        cells = "  ".join(cell(row, computed) for computed in found)
        print(f"{row.name:34s} {row.measured:8.4g} +- {row.spread:5.3g}  {cells}")


def cell(row: Row, computed: float) -> str:
    return f"{computed:8.4g} {misfit(row, computed):5.2f}"


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
