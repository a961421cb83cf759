"""Rules for every test, and results made by hand: a crater with zones of known thickness on each geometry.

Numpy raises on what it would warn of, and some tests need the compiler.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

from spotdwell.measure.summary import measures_of
from spotdwell.measure.verdict import Limits, verdict_of
from spotdwell.model.beam import Beam
from spotdwell.model.columns import Columns, Geometry, lattice, rings, slab
from spotdwell.model.exposure import steady
from spotdwell.model.material import DamageProcess, Medium, Pyrolysis, Removal
from spotdwell.model.problem import Grid, Problem
from spotdwell.model.target import Layer, Target
from spotdwell.output.result import Result, result_of
from spotdwell.solve.outcome import LEDGER_TERMS, History, Outcome, Snapshot, Status

CHAR, DRIED, COAGULATED = 20e-6, 45e-6, 140e-6
"""How far each zone reaches below the crater's front, straight down [m]."""
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
DWELL = 0.08

PROCESSES = (
    DamageProcess("collagen", "collagen birefringence loss", 1.61e45, 306e3),
    DamageProcess("cells", "cell death", 2.984e80, 506e3),
)
TISSUE = Medium(
    name="soft_tissue",
    solid_density=327.0,
    water_density=763.0,
    specific_heat_solid=1700.0,
    conductivity=0.5,
    conductivity_dry=0.2,
    conductivity_char=0.1,
    absorption_coefficient_water=8.46e4,
    absorption_coefficient_solid=1e4,
    pyrolysis=Pyrolysis(1e12, 160e3, 1e6, 0.25),
    removal=Removal(513.15, 0.65, 2e-3),
    damage=PROCESSES,
)
FILM = Medium("saline", 0.0, 997.0, 1000.0, 0.6, 0.6, 0.6, 8.46e4, 0.0)


def columns_of(geometry: Geometry) -> Columns:
    if geometry is Geometry.SLAB:
        return slab(1e-6)
    if geometry is Geometry.AXISYMMETRIC:
        return rings(np.linspace(0.0, 1.5e-3, 81))
    return lattice(np.linspace(0.0, 1.5e-3, 13), np.linspace(0.0, 1.2e-3, 11), symmetry=4.0)


def distance_of(columns: Columns) -> np.ndarray:
    """Of each column's centre from the axis [m], shape (columns,)."""
    if columns.geometry is Geometry.LATTICE:
        return np.hypot(columns.x[:, None], columns.y[None, :]).ravel()
    return np.zeros(1) if columns.geometry is Geometry.SLAB else columns.x


def problem_of(columns: Columns, film: bool = False, depth: float = 1.5e-3, cells: int = 150) -> Problem:
    edges = np.linspace(0.0, depth, cells + 1)
    layers = (Layer(TISSUE, np.inf),)
    layer_of_cell = np.zeros(cells, dtype=np.int64)
    if film:
        layers = (Layer(FILM, edges[10]), Layer(TISSUE, np.inf))
        layer_of_cell[10:] = 1
    grid = Grid(columns, edges, layer_of_cell)
    return Problem(Target(layers), grid, Beam(10.6e-6, 0.8e-3), steady(25.0, DWELL), save_times=(0.04, DWELL))


def snapshot_of(problem: Problem, time: float, depth: float, dose: bool = False) -> Snapshot:
    """A gaussian crater `depth` [m] deep, with zones that follow its front."""
    columns, grid = problem.grid.columns, problem.grid
    radius = distance_of(columns)
    level = np.clip(1.3 * np.exp(-2.0 * (radius / 0.65e-3) ** 2) - 0.3, 0.0, None)
    front = depth * level
    below = (
        grid.depth[None, :] - front[:, None] + 250e-6 * np.clip(radius[:, None] / 0.55e-3 - 1.0, 0.0, None)
    )
    tissue = ~np.array([layer.medium.is_liquid for layer in problem.target.layers])[grid.layer_of_cell]
    first = np.array([layer.medium.water_density for layer in problem.target.layers])[grid.layer_of_cell]
    damage = np.exp(np.clip((COAGULATED - below) / 10e-6, -200.0, 50.0)) * tissue
    return Snapshot(
        time=time,
        temperature=310.15 + 700.0 * np.exp(-np.clip(below, 0.0, None) / 60e-6),
        water=first * np.clip(0.5 + (below - DRIED) / 40e-6, 0.0, 1.0),
        conversion=np.clip(0.5 + (CHAR - below) / 30e-6, 0.0, 1.0) * tissue,
        damage=np.stack([damage, 0.1 * damage]),
        floor=np.searchsorted(grid.depth_edges, front, side="right").astype(np.int64) - 1,
        crater_depth=front,
        thermal_dose=damage * 60.0 if dose else None,
    )


def history_of(end: float, depth: float) -> History:
    time = np.concatenate([[0.0], np.linspace(1e-4, DWELL, 200), np.geomspace(DWELL * 1.001, end, 100)])
    lit = time <= DWELL
    front = depth * np.minimum(time / DWELL, 1.0)
    cooling = np.where(lit, 0.0, time - DWELL)
    peak = 310.15 + np.where(lit, 900.0 * np.minimum(time / 3e-3, 1.0), 900.0 / np.sqrt(1.0 + cooling / 4e-3))
    sent = 25.0 * np.minimum(time, DWELL)
    ledger = np.zeros((time.size, len(LEDGER_TERMS)))
    ledger[:, LEDGER_TERMS.index("incident")] = sent
    ledger[:, LEDGER_TERMS.index("latent")] = 0.7 * sent
    ledger[:, LEDGER_TERMS.index("stored")] = 0.3 * sent
    surface = 310.15 + 0.8 * (peak - 310.15)
    return History(time, np.where(lit & (time > 0), 25.0, 0.0), front, 1.02 * front, peak, surface, ledger)


def outcome_of(problem: Problem, depth: float, end: float = 3.0, dose: bool = False) -> Outcome:
    times = (0.04, DWELL, end)
    snapshots = tuple(snapshot_of(problem, t, depth * min(1.0, t / DWELL), dose) for t in times)
    history = history_of(end, depth)
    return Outcome(
        problem=problem,
        status=Status.COOLED,
        snapshots=snapshots,
        history=history,
        ledger=dict(zip(LEDGER_TERMS, history.ledger[-1].tolist(), strict=True)),
        removed_mass=4e-7,
        peak_temperature=1210.15,
        perforation_time=None,
        steps=1200,
        stages=9000,
        cell_updates=10**7,
        wall_time=0.7,
    )


def build(
    geometry: Geometry = Geometry.AXISYMMETRIC, depth: float = 0.6e-3, film: bool = False, dose: bool = False
) -> Result:
    problem = problem_of(columns_of(geometry), film)
    outcome = outcome_of(problem, depth, dose=dose)
    measures = measures_of(outcome)
    return result_of(
        problem,
        outcome,
        measures,
        verdict_of(measures, Limits(depth=1e-3)),
        notes=("Cells of 10 um resolve the absorption depth of 11 um.", "Größe: 25 µm"),
        scenario_text='title = "A spot"\n[beam]\npower = "25 W"\n',
        materials={"soft_tissue": 'title = "Soft tissue"\n', "odd/name": "x = 1\n"},
        versions={"spotdwell": "0.1.0", "numpy": np.__version__},
        setting={
            "title": "A spot on soft tissue",
            "power": "25 W",
            "spot": "1.6 mm (1/e2)",
            "dwell": "80 ms",
            "target": "soft_tissue",
        },
    )


@pytest.fixture
def make() -> Callable[..., Result]:
    """`build`, for tests."""
    return build


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what would take too long interpreted."""
    if os.environ.get("NUMBA_DISABLE_JIT", "0") in ("", "0"):
        return
    skip = pytest.mark.skip(reason="interpreted kernels would take too long")
    for item in items:
        if "compiled" in item.keywords:
            item.add_marker(skip)


@pytest.fixture(autouse=True)
def numpy_raises() -> Iterator[None]:
    """Division by zero, overflow and invalid operations are errors; underflow to 0 is not."""
    with np.errstate(all="raise", under="ignore"):
        yield


@pytest.fixture(scope="module")
def driver() -> Iterator[Any]:
    """A browser without a window; skips the tests where there is none."""
    webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is not installed")
    from selenium.webdriver.chrome.service import Service

    browser = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    control = shutil.which("chromedriver")
    if browser is None or control is None:
        pytest.skip("no Chromium with its chromedriver is installed: its pages were not tried")
    options = webdriver.ChromeOptions()
    options.binary_location = browser
    for argument in ("--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    opened = webdriver.Chrome(options=options, service=Service(control))
    yield opened
    opened.quit()
