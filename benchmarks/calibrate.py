"""Refit the closure to the published rows and print every residual: python benchmarks/calibrate.py [runs].

Rows weigh by their spread. A trial takes some 20 s on one idle core. It writes nothing: materials say what
evidence decides, of which these fits are a part. Rows that no trial hits are named at the end.
"""

from __future__ import annotations

import sys

from spotdwell.evidence.closure import ACRYLIC, TISSUE, Fit, fit, misfit
from spotdwell.evidence.published import Row, evaluate, rows

LEFT_OUT = ("V12", "V13 char", "Ho", "Tm", "Narrow", "Short")
"""Rows of acrylic, of browning, of 2 um, and trends: the values here do not act on them, or slowly."""


def main(trials: int) -> None:
    acrylic = tuple(row for row in rows() if row.name.startswith("V12"))
    tissue = tuple(row for row in rows() if not row.name.startswith(LEFT_OUT))
    print("acrylic", fit(acrylic, ACRYLIC, 20))
    best = fit(tissue, TISSUE, trials, report)
    print("tissue", best)
    table(best)
    missed = [
        row.name
        for row in tissue
        if not row.holds(evaluate(row)) and not row.holds(evaluate(row, best.values))
    ]
    print("hit neither as shipped nor by the fit:", ", ".join(missed) or "none")


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
