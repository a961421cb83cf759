"""Record: a run as it is kept and shown, free of the problem that led to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.measure.interval import Interval
from spotdwell.measure.verdict import Verdict
from spotdwell.model.columns import Geometry
from spotdwell.model.material import DamageProcess
from spotdwell.model.problem import Problem
from spotdwell.solve.outcome import History, Outcome, Snapshot

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Record:
    """What a run found, with all that is needed to draw it, read it and repeat it."""

    geometry: Geometry
    x_edges: Array
    """Edges along x, or radii of the rings [m], shape (nx + 1,)."""
    y_edges: Array
    """Edges along y [m], shape (ny + 1,); (0, 1) on rings. Column index is ix * ny + iy."""
    depth_edges: Array
    """[m], shape (cells + 1,)."""
    layer_of_cell: NDArray[np.int64]
    """Index of each cell's layer, shape (cells,)."""
    symmetry: float
    """How many copies of the columns make the whole target."""
    layer_names: tuple[str, ...]
    initial_water: Array
    """Free water before the shot [kg/m3], shape (cells,)."""
    leaves_char: NDArray[np.bool_]
    """Whether converted solid stays as char, shape (cells,)."""
    liquid: NDArray[np.bool_]
    """Whether the medium has no solids, shape (cells,)."""
    damage_names: tuple[str, ...]
    """Names of the damage processes, in the order of `Snapshot.damage`."""
    damage_titles: tuple[str, ...]
    """The same as a reader calls them."""
    snapshots: tuple[Snapshot, ...]
    """Fields at the asked times; the last is the final state."""
    history: History
    ledger: dict[str, float]
    """Energies by `base.names.LEDGER` [J]."""
    measures: dict[str, float | None]
    """By `base.names.MEASURES`, SI; None where one does not apply."""
    verdict: Verdict
    notes: tuple[str, ...]
    """Sentences: why the grid is as it is, and where the model should be doubted."""
    status: str
    """How the run ended."""
    cost: dict[str, float]
    """steps, stages, cell_updates and wall_time [s]."""
    beam: dict[str, float | str]
    """wavelength [m], radius [m], profile, x and y [m] of its start, scan_speed [m/s]."""
    setting: dict[str, str]
    """What a caption says of the run, such as power: "25 W"."""
    scenario_text: str
    materials: dict[str, str]
    """TOML text of each material by its name."""
    versions: dict[str, str]
    interval: Interval | None = None
    """What joint draws of the material values make of it; None where none were run."""

    @property
    def odds(self) -> str:
        """How many of the draws share the verdict, such as "4 in 5"; "" for all, or without draws."""
        return "" if self.interval is None else self.interval.odds(str(self.verdict.word))

    @property
    def verdict_text(self) -> str:
        """The verdict, whether it is borderline, and its odds, such as "clean, 9 in 10"."""
        return ", ".join(filter(None, (self.verdict.text, self.odds)))

    @property
    def fields(self) -> Snapshot:
        """The last state."""
        return self.snapshots[-1]

    @property
    def title(self) -> str:
        """The setting's title, or its entries in one line."""
        return self.setting.get("title") or ", ".join(self.setting.values())


def fields_of(
    problem: Problem,
    outcome: Outcome,
    measures: dict[str, float | None],
    verdict: Verdict,
    notes: tuple[str, ...] = (),
    scenario_text: str = "",
    materials: dict[str, str] | None = None,
    versions: dict[str, str] | None = None,
    setting: dict[str, str] | None = None,
) -> dict[str, Any]:
    """Fields of the record of `outcome`, which solved `problem`, with measures, verdict and provenance."""
    columns, grid = problem.grid.columns, problem.grid
    media = [layer.medium for layer in problem.target.layers]
    cells = grid.layer_of_cell
    chars = [medium.pyrolysis is not None and medium.pyrolysis.leaves_char for medium in media]
    processes = _processes([medium.damage for medium in media], outcome.final.damage.shape[0])
    return {
        "geometry": columns.geometry,
        "x_edges": columns.x_edges,
        "y_edges": columns.y_edges,
        "depth_edges": grid.depth_edges,
        "layer_of_cell": cells,
        "symmetry": columns.symmetry,
        "layer_names": tuple(medium.name for medium in media),
        "initial_water": np.array([medium.water_density for medium in media])[cells],
        "leaves_char": np.array(chars)[cells],
        "liquid": np.array([medium.is_liquid for medium in media])[cells],
        "damage_names": tuple(name for name, _ in processes),
        "damage_titles": tuple(title for _, title in processes),
        "snapshots": outcome.snapshots,
        "history": outcome.history,
        "ledger": dict(outcome.ledger),
        "measures": dict(measures),
        "verdict": verdict,
        "notes": tuple(notes),
        "status": str(outcome.status),
        "cost": _cost(outcome),
        "beam": _beam(problem),
        "setting": dict(setting or {}),
        "scenario_text": scenario_text,
        "materials": dict(materials or {}),
        "versions": dict(versions or {}),
    }


def _processes(damage: list[tuple[DamageProcess, ...]], count: int) -> list[tuple[str, str]]:
    """Name and title of each damage process; where layers differ in one, all theirs."""
    named = []
    for place in range(count):
        here = [processes[place] for processes in damage if len(processes) > place]
        names, titles = dict.fromkeys(p.name for p in here), dict.fromkeys(p.title for p in here)
        named.append((" or ".join(names), " or ".join(titles)))
    return named


def _cost(outcome: Outcome) -> dict[str, float]:
    return {
        "steps": float(outcome.steps),
        "stages": float(outcome.stages),
        "cell_updates": float(outcome.cell_updates),
        "wall_time": float(outcome.wall_time),
    }


def _beam(problem: Problem) -> dict[str, float | str]:
    beam = problem.beam
    return {
        "wavelength": float(beam.wavelength),
        "radius": float(beam.radius),
        "profile": str(beam.profile),
        "x": float(beam.centre[0]),
        "y": float(beam.centre[1]),
        "scan_speed": float(beam.scan_speed),
    }
