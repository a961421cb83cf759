"""The march against the closed front that ruptures while steam escapes: observed order, and where it ends."""

from __future__ import annotations

import numpy as np
import pytest

from spotdwell.evidence.check import (
    claimed_depth,
    depth_of_level,
    half_of,
    mean_speed,
    solved,
)
from spotdwell.evidence.checks_front import lasting, rupture_front_of

pytestmark = pytest.mark.compiled


def errors(refinement: float) -> tuple[float, float]:
    """Mean place of the front against the isotherm of half its rise [m], and its speed [-]."""
    times = np.arange(4e-3, 7.99e-3, 0.05e-3).tolist()
    # A step is a share of the time in which the front crosses a cell: it shrinks as cells do.
    changes = {"grid.cell_depth": f"{2.0 / refinement!r} um"}
    half = half_of(solved("rupture_front", changes, weightless=True, save_times=times))
    front, snapshots = rupture_front_of(half), half.outcome.snapshots
    level = 0.5 * front.rupture
    claimed = claimed_depth(front.rise_at, level, 1e-3)
    found = [depth_of_level(*half.under_front(snapshot), level) for snapshot in snapshots]
    depths = [snapshot.crater_depth[0] for snapshot in snapshots]
    speed = np.polyfit([snapshot.time for snapshot in snapshots], depths, 1)[0]
    return abs(float(np.mean(found)) - claimed), abs(speed / front.v - 1.0)


def test_the_front_is_of_first_order_in_cells_and_steps() -> None:
    coarse, fine = errors(1.0), errors(4.0)
    # A quarter of the cells' height and the steps: fourfold at first order, threefold at 0.8.
    assert coarse[0] / fine[0] > 4.0**0.8
    assert fine[0] < 0.1e-6  # a fifth of a cell
    assert fine[1] < 1e-3


@pytest.mark.parametrize(("share", "goes_on"), [(0.95, False), (1.05, True)])
def test_a_face_dries_and_stays_below_the_drying_irradiance_alone(share: float, goes_on: bool) -> None:
    outcome = lasting(share * 19.593e6)
    assert (mean_speed(outcome) > 0.0) == goes_on
    face = outcome.final.water[0, int(outcome.final.floor[0])]
    assert (face > outcome.problem.target.layers[0].medium.flash_water) == goes_on
