"""Solution verification: what the cells and steps leave uncertain, by three grids of one shot.

The grid convergence index is Roache's (J. Fluids Eng. 1994;116:405; Verification and Validation in
Computational Science and Engineering, 1998): an error band around the finest value from the observed order.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from spotdwell import pipeline
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_with
from spotdwell.model.problem import Stepping

REFINEMENTS = (0.5, 1.0, 2.0)
"""Of the grids: twice the tool's own cells, its own, and half of them, with steps alike."""

RISE = "peak_temperature"
"""The measure that is taken as a rise [K]."""

FORMAL_ORDER = 2.0
"""Of the scheme on smooth problems; an observed order above it earns no smaller band."""
LEAST_ORDER, MOST_ORDER = 0.5, 3.0
"""Outside of these the coarsest grid is too coarse, or the values settle too slowly, to trust an order."""
TRUSTED, DISTRUSTED = 1.25, 3.0
"""Safety factors on the estimated error: with an observed order from three grids, and without."""


@dataclass(frozen=True)
class Convergence:
    """One quantity on three grids, each with `ratio` times smaller cells and steps than the last."""

    name: str
    values: tuple[float, float, float]
    """From the coarsest grid to the finest [SI]."""
    ratio: float
    order: float | None
    """Observed order; None where the values do not settle from one side at a believable rate."""
    index: float | None
    """Grid convergence index of the finest grid, relative to its value; None where that is 0."""

    @property
    def change(self) -> float | None:
        """What the tool's own grid lacks: the last change over the finest value."""
        return _over(self.values[2] - self.values[1], self.values[2])


def grid_convergence(name: str, values: Sequence[float], ratio: float = 2.0) -> Convergence:
    """Observed order and grid convergence index of `values` on three grids, the coarsest first."""
    coarse, middle, fine = values
    order = _observed_order(middle - coarse, fine - middle, ratio)
    if order is None:
        # Nothing says how fast the error falls: three times the last change, as for first order.
        error = DISTRUSTED * abs(fine - middle)
    else:
        error = TRUSTED * abs(fine - middle) / (ratio ** min(order, FORMAL_ORDER) - 1.0)
    return Convergence(name, (coarse, middle, fine), ratio, order, _over(error, abs(fine)))


def _observed_order(first: float, second: float, ratio: float) -> float | None:
    if first * second <= 0.0:
        return None
    order = math.log(first / second) / math.log(ratio)
    return order if LEAST_ORDER <= order <= MOST_ORDER else None


def _over(part: float, whole: float) -> float | None:
    return part / whole if whole else None


def converge(
    scenario: Scenario, names: Sequence[str], progress: Callable[[str], None] | None = None
) -> list[Convergence]:
    """Measures `names` of `scenario` on the grids of `REFINEMENTS`; those that are absent are left out.

    The peak temperature counts from the initial one: relative to an absolute one its error would look small.
    """
    found: list[Mapping[str, float | None]] = []
    for refinement in REFINEMENTS:
        if progress is not None:
            progress(f"cells and steps divided by {refinement:g}")
        found.append(pipeline.run(scenario_with(scenario, _on_grid(refinement))).measures)
    table = []
    for name in names:
        start = scenario.target.initial_temperature if name == RISE else 0.0
        values = [value - start for measures in found if (value := measures[name]) is not None]
        if len(values) == len(REFINEMENTS):
            table.append(grid_convergence(name, values))
    return table


def _on_grid(refinement: float) -> dict[str, str | float]:
    own = Stepping()
    return {
        "grid.refinement": refinement,
        "steps.growth": own.growth / refinement,
        "steps.front_share": own.front_share / refinement,
        "steps.largest_rise": f"{own.largest_rise / refinement!r} K",
    }
