"""Conduction against a separately written discretisation that SciPy's stiff integrator marches."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.sparse import csc_matrix, lil_matrix

from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import scenario_from_dict
from spotdwell.solve.march import marched

pytestmark = pytest.mark.compiled

Array = NDArray[np.float64]

END, POWER, RADIUS = 20e-3, 0.2, 150e-6
UPPER = {"k": 0.2, "C": 1.8e6, "mu": 3e4, "thickness": 60e-6}
LOWER = {"k": 1.1, "C": 3.9e6, "mu": 8e3}


def solid(properties: dict[str, float]) -> dict[str, object]:
    """Material of 1000 kg/m3 with these properties."""
    return {
        "density": "1000 kg/m3",
        "water_mass_fraction": 0.0,
        "specific_heat_solid": f"{properties['C'] / 1000.0!r} J/kg/K",
        "conductivity": f"{properties['k']!r} W/m/K",
        "reflectance": 0.1,
        "absorption": [{"wavelength": "10.6 um", "value": f"{properties['mu']!r} 1/m"}],
    }


def scenario(longest_step: float) -> dict[str, object]:
    return {
        "beam": {"wavelength": "10.6 um", "power": f"{POWER} W", "diameter": f"{2 * RADIUS!r} m"},
        "exposure": {"dwell_time": f"{END!r} s"},
        "target": {
            "initial_temperature": "20 degC",
            "layers": [
                {"material": "upper", "thickness": f"{UPPER['thickness']!r} m"},
                {"material": "lower", "thickness": "300 um"},
            ],
        },
        "surface": {
            "heat_transfer_coefficient": "5000 W/m2/K",
            "ambient_temperature": "20 degC",
            "radiates": False,
        },
        "run": {"end_time": f"{END!r} s"},
        "grid": {"cell_depth": "10 um", "cell_width": "20 um", "half_width": "600 um", "stretch": False},
        "steps": {"growth": 1.0, "largest": f"{longest_step!r} s", "largest_rise": "1000 K"},
        "materials": {"upper": solid(UPPER), "lower": solid(LOWER)},
    }


def independent(radii: Array, depths: Array) -> Array:
    """Rise [K], (rings, cells), by method of lines: a matrix of exchanges and SciPy's BDF."""
    z = 0.5 * (depths[1:] + depths[:-1])
    upper = z < UPPER["thickness"]
    k, C, mu = (np.where(upper, UPPER[name], LOWER[name]) for name in ("k", "C", "mu"))
    dz, rings = np.diff(depths), np.diff(radii**2) * math.pi
    n, m = rings.size, dz.size
    exchange = lil_matrix((n * m, n * m))

    def couple(a: int, b: int, conductance: float) -> None:
        for here, there in ((a, b), (b, a)):
            exchange[here, here] -= conductance
            exchange[here, there] += conductance

    for i in range(n):
        for j in range(m):
            if j + 1 < m:
                couple(i * m + j, i * m + j + 1, rings[i] / (dz[j] / (2 * k[j]) + dz[j + 1] / (2 * k[j + 1])))
            if i + 1 < n:
                side = 2.0 * math.pi * radii[i + 1] * dz[j]
                couple(i * m + j, (i + 1) * m + j, side * k[j] / (0.5 * (radii[i + 2] - radii[i])))
        exchange[i * m, i * m] -= rings[i] / (1.0 / 5000.0 + dz[0] / (2 * k[0]))
    heat = (rings[:, None] * dz * C).ravel()
    share = np.exp(-2.0 * (radii[:-1] / RADIUS) ** 2) - np.exp(-2.0 * (radii[1:] / RADIUS) ** 2)
    arrives = np.exp(-np.concatenate([[0.0], np.cumsum(mu * dz)]))
    source = (0.9 * POWER * share[:, None] * -np.diff(arrives)).ravel() / heat
    matrix = csc_matrix(exchange.tocsc().multiply(1.0 / heat[:, None]))
    result = solve_ivp(
        lambda _, u: matrix @ u + source,
        (0.0, END),
        np.zeros(n * m),
        method="BDF",
        jac=matrix,
        rtol=1e-8,
        atol=1e-9,
    )
    assert result.success
    return np.asarray(result.y[:, -1].reshape(n, m))


def test_layers_under_a_gaussian_beam_agree_with_an_independent_solver() -> None:
    errors: list[float] = []
    for longest_step in (1e-3, 0.25e-3, 62.5e-6):
        outcome = marched(problem_of(scenario_from_dict(scenario(longest_step))))
        grid = outcome.problem.grid
        if not errors:
            reference = independent(grid.columns.x_edges, grid.depth_edges)
        rise = outcome.final.temperature - 293.15
        errors.append(np.max(np.abs(rise - reference)) / reference.max())
    assert reference.max() > 100.0
    # Same cells, so that only time differs, which 320 second-order steps resolve to some 1e-6.
    assert errors[-1] < 3e-6
    # Steps are 16 times shorter in the end: 256-fold at second order, 147-fold at 1.8.
    assert errors[0] / errors[-1] > 16.0**1.8


def test_the_independent_solver_conserves_what_is_absorbed_less_what_is_lost() -> None:
    radii, depths = np.linspace(0.0, 600e-6, 31), np.linspace(0.0, 360e-6, 37)
    rise = independent(radii, depths)
    rings = np.diff(radii**2) * math.pi
    C = np.where(0.5 * (depths[1:] + depths[:-1]) < UPPER["thickness"], UPPER["C"], LOWER["C"])
    held = float(np.sum(rings[:, None] * np.diff(depths) * C * rise))
    absorbed = 0.9 * POWER * END * -math.expm1(-UPPER["mu"] * 60e-6 - LOWER["mu"] * 300e-6)
    # The surface takes some of it: less than all, more than most.
    assert 0.5 * absorbed < held < absorbed
    assert_allclose(rise[-1], 0.0, atol=1.0)  # four radii out the target is still cold
