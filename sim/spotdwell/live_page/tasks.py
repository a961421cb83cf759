"""Tasks of the page's worker processes: a shot, a search, a map around a setting, and files to take away."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import InputError, SpotdwellError
from spotdwell.base.settings import SETTINGS
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.shot import scenario_with
from spotdwell.live_page.knobs import Settings, kwargs_of, scenario_of
from spotdwell.live_page.shown import shot_shown, shown, with_intervals
from spotdwell.live_page.take import JUDGED, taken
from spotdwell.maps.plan import MapPlan, map_plan
from spotdwell.output.pictures.style import typeset
from spotdwell.output.result import Result
from spotdwell.pipeline import as_result, solved
from spotdwell.sizing.run import Sized, size
from spotdwell.sizing.trials import Listener
from spotdwell.sizing.unknown import Unknown
from spotdwell.spread.brief import brief

COARSE = 0.5
"""Refinement of the grid that is shown while a knob moves: cells twice as large."""
SIDE = 7
"""Settings along each side of a map."""
STEP = 1.3
"""Ratio of neighbours in a map: three steps are a factor of 2.2."""
_KEPT = 4
"""Results that a process remembers, so that what was just solved is not solved again."""

Tell = Callable[[str, Any], None]
"""Sends a kind of finding, and the finding."""
Still = Callable[..., None]
"""Raises Superseded once the task is not wanted any more; takes and ignores the progress of a march."""
Found = dict[str, Any]


class Superseded(Exception):
    """A newer task took this one's place."""


@dataclass
class Remembered:
    """The last results of a process, by their settings."""

    results: OrderedDict[tuple[tuple[str, str], ...], tuple[Result, Found]]

    def get(self, settings: Settings) -> tuple[Result, Found] | None:
        """The result of these settings and what the page shows of it, if they are remembered."""
        return self.results.get(tuple(sorted(settings.items())))

    def put(self, settings: Settings, result: Result, found: Found) -> None:
        """Remember a result in place of the oldest."""
        self.results[tuple(sorted(settings.items()))] = result, found
        while len(self.results) > _KEPT:
            self.results.popitem(last=False)


remembered = Remembered(OrderedDict())


@dataclass(frozen=True)
class Task:
    """What the page asks for."""

    kind: str
    """shot, find, map or take."""
    settings: Mapping[str, str]
    folder: Path
    options: Mapping[str, str]


def carried_out(task: Task, tell: Tell, still: Still) -> None:
    """Do the task; tell what is found as it comes.

    Raises InputError and RunError as the run does, and what `still` raises.
    """
    {"shot": _shot, "find": _find, "map": _map, "take": _take}[task.kind](task, tell, still)


def warm_up() -> None:
    """Load the kernels, or compile them, and all that a shot needs."""
    settings = {"material": "soft_tissue", "power": "5 W", "spot": "1 mm", "dwell": "1 ms"}
    _solved(scenario_with(scenario_of(settings, Path()), {"grid.refinement": COARSE}), lambda *_: None)


def _shot(task: Task, tell: Tell, still: Still) -> None:
    """First on a coarse grid, then, unless a knob is still moving, on the full one."""
    scenario = scenario_of(task.settings, task.folder)
    known = remembered.get(task.settings)
    if known is None:
        coarse = scenario_with(scenario, {"grid.refinement": COARSE * scenario.grid.refinement})
        tell("coarse", _solved(coarse, still)[1])
        if task.options.get("moving"):
            return
        known = _solved(scenario, still)
        remembered.put(task.settings, *known)
    tell("full", known[1])
    if "intervals" not in known[1] and not task.options.get("moving"):
        tell("intervals", _judged(task, *known)[1])


def _judged(task: Task, result: Result, found: Found) -> tuple[Result, Found]:
    """The same with intervals, where there are some; remembered."""
    if "intervals" not in found:
        study = brief(result)
        result = result if study is None else replace(result, interval=study.interval)
        found = with_intervals(found, result)
        remembered.put(task.settings, result, found)
    return result, found


def _solved(scenario: Any, still: Still) -> tuple[Result, Found]:
    reasons = tuple(problem_of(scenario).grid.reasons)
    found = solved(scenario, still)
    result = as_result(scenario, found)
    return result, shot_shown(found.outcome, result, reasons)


def _find(task: Task, tell: Tell, still: Still) -> None:
    """The spot or the dwell that removes a depth, with each trial as it comes."""
    unknown = task.options.get("unknown", "")
    if unknown not in {one.value for one in Unknown}:
        raise InputError("unknown", "power, spot or dwell", f'"{unknown}"')
    given = kwargs_of(task.settings, task.folder)
    if unknown == Unknown.SPOT and "laser" in given:
        raise InputError("spot", "a spot that can be chosen", "a laser file, whose dial sets it")
    given.pop(unknown, None)
    depth = task.options.get("depth", "")
    listener = Listener(lambda text: tell("trial", typeset(text)), still)
    tell("answer", _answer(size(given.pop("material"), depth, listener=listener, **given)))


def _answer(sized: Sized) -> Found:
    """The setting that was found, or the nearest, with what stands in the way, in sentences."""
    depth = shown("crater_depth", sized.depth)
    name, text = str(sized.unknown), sized.unknown.written(float(f"{sized.trial.value:.3g}"))
    if sized.found:
        line = f"For {depth} set the {name} to {typeset(text)}: {sized.trial.says}."
    else:
        line = f"No {name} was found that removes {depth}; {typeset(text)} comes nearest: {sized.trial.says}."
    more = [typeset(one) for one in (*sized.obstacles, *sized.advice)]
    return {"found": sized.found, "name": name, "value": text, "line": typeset(line), "more": more}


def _map(task: Task, tell: Tell, still: Still) -> None:
    """Verdict and depth around the settings, from the nearest on outwards."""
    plan = plan_around(task)
    across, up = plan.axes
    middle = SIDE // 2
    texts = [[_text(axis.name, value) for value in axis.values] for axis in plan.axes]
    tell("axes", {"names": [across.name, up.name], "values": texts})
    places = sorted(
        ((i, j) for i in range(SIDE) for j in range(SIDE)),
        key=lambda at: ((at[0] - middle) ** 2 + (at[1] - middle) ** 2, at),
    )
    for place in places:
        still()
        tell("point", {"place": place, **_point(plan, place, still)})


def plan_around(task: Task) -> MapPlan:
    """Map of `SIDE` values of two settings around those of the task. Raises InputError that names them."""
    names = task.options.get("across", "spot"), task.options.get("up", "power")
    given = kwargs_of(task.settings, task.folder)
    allowed = ("power", "dwell") if "laser" in given else ("power", "spot", "dwell")
    for name in names:
        if name not in allowed or names[0] == names[1]:
            raise InputError("across", f"two of {', '.join(allowed)}", " and ".join(names))
    over = [f"{name}: {', '.join(_around(name, given.pop(name, '')))}" for name in names]
    return map_plan(given, *over, workers=1)


def _around(name: str, text: str) -> list[str]:
    """Values above and below the one in `text`, which is among them as it is."""
    setting = SETTINGS[name]
    middle = units.parse(text, setting.unit, where=name, example=setting.example)
    factors = [STEP**step for step in range(-(SIDE // 2), SIDE // 2 + 1)]
    return [text if one == 1.0 else _text(name, float(f"{middle * one:.3g}")) for one in factors]


def _text(name: str, value: float | str) -> str:
    return units.written(float(value), SETTINGS[name].unit)


def _point(plan: MapPlan, place: tuple[int, int], still: Still) -> Found:
    try:
        found = solved(plan.scenario(place), still)
    except SpotdwellError as error:
        return {"word": "failed", "depth": str(error)}
    deepest = found.measures["deepest"] or 0.0
    depth = shown("deepest", deepest, found.measures.get("cell_depth"))
    return {"word": str(found.verdict.word), "depth": depth}


def _take(task: Task, tell: Tell, still: Still) -> None:
    """Write what is asked for into the folder; its result is solved on the full grid unless remembered."""
    known = remembered.get(task.settings)
    if known is None:
        known = _solved(scenario_of(task.settings, task.folder), still)
        remembered.put(task.settings, *known)
    what = task.options.get("what", "")
    if what in JUDGED:
        known = _judged(task, *known)
    path = taken(what, known[0], kwargs_of(task.settings, task.folder), task.folder)
    tell("taken", {"name": path.name, "folder": str(task.folder)})
