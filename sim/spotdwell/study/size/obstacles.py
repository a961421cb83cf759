"""Obstacles: why no setting of the unknown removes the wanted depth, and what comes nearest."""

from __future__ import annotations

from spotdwell.base import units
from spotdwell.inputs.build import beam_of, target_of
from spotdwell.inputs.shot import scenario_with
from spotdwell.study.size.search import FAIR, Found
from spotdwell.study.size.trials import Trial, TrialRuns
from spotdwell.study.size.unknown import Unknown, drying_limit

_MORE = {
    Unknown.POWER: "give a longer dwell or a smaller spot",
    Unknown.SPOT: "give more power or a longer dwell",
    Unknown.DWELL: "give more power or a smaller spot",
}
_LESS = {
    Unknown.POWER: "give a shorter dwell or a larger spot",
    Unknown.SPOT: "give less power or a shorter dwell",
    Unknown.DWELL: "give less power or a larger spot",
}


def obstacles(runs: TrialRuns, found: Found, depth: float, bounds: tuple[float, float]) -> list[str]:
    """Sentences on why `found` is no answer, from its trials; what to do is `ways_out`."""
    if found.shallower is None:
        return [_too_deep(runs, found.nearest, depth, bounds)]
    if found.deeper is None:
        return [_too_shallow(runs, found.nearest, depth, bounds), *_steam_leaks(runs, found.nearest)]
    return [_jump(runs, found.shallower, found.deeper, depth), *_steam_leaks(runs, found.shallower)]


def ways_out(runs: TrialRuns, found: Found) -> list[str]:
    """What to do where `found` is no answer."""
    if found.shallower is not None and found.deeper is not None:
        grid = "finer cells (a refinement of 2) tell whether the jump is one of the grid"
        return [f"Change one of the settings that are given; {grid}."]
    others = _LESS if found.shallower is None else _MORE
    return [f"Widen the bounds (at_least, at_most), or {others[runs.unknown]}."]


def remarks(found: Found) -> list[str]:
    """What is to be known of an answer: how close it is where depth moves in coarse steps."""
    if abs(found.error) <= FAIR:
        return []
    return [
        f"The depth moves in steps here, and this is the closest: {100.0 * found.error:+.2g} % off. "
        "Finer cells (a refinement of 2) make the steps smaller."
    ]


def _too_shallow(runs: TrialRuns, nearest: Trial, depth: float, bounds: tuple[float, float]) -> str:
    unknown, wanted = runs.unknown, units.display(depth, "m", "um")
    most = f"The deepest is {nearest.text} with {nearest.says}"
    if nearest.depth == 0.0:
        most = "Nothing is removed anywhere between them"
    return f"No {unknown} from {_range(unknown, bounds)} removes {wanted}. {most}."


def _too_deep(runs: TrialRuns, nearest: Trial, depth: float, bounds: tuple[float, float]) -> str:
    unknown, wanted = runs.unknown, units.display(depth, "m", "um")
    through = " and cuts the target through" if nearest.depth >= runs.thickness * (1.0 - 1e-9) else ""
    return (
        f"Every {unknown} from {_range(unknown, bounds)} removes more than {wanted}. The shallowest is "
        f"{nearest.text}: {nearest.says}{through}."
    )


def _jump(runs: TrialRuns, shallower: Trial, deeper: Trial, depth: float) -> str:
    through = deeper.depth >= runs.thickness * (1.0 - 1e-9)
    what = "cuts the target through" if through else f"removes {units.display(deeper.depth, 'm', 'um')}"
    return (
        f"The depth jumps past {units.display(depth, 'm', 'um')}: {runs.unknown} {shallower.text} removes "
        f"{units.display(shallower.depth, 'm', 'um')}, and {deeper.text} {what}."
    )


def _steam_leaks(runs: TrialRuns, trial: Trial) -> list[str]:
    """A sentence if the irradiance of `trial` is one at which tissue dries instead of being thrown out."""
    changed = scenario_with(runs.scenario, {runs.unknown.key(runs.scenario): trial.text})
    target, beam = target_of(changed), beam_of(changed)
    top = target.layers[0].medium
    limit = drying_limit(top, target.initial_temperature)
    if limit is None:
        return []
    limit /= max(beam.plume_transmittance * (1.0 - top.reflectance), 1e-9)
    peak = changed.arriving_power * beam.peak_irradiance
    if peak >= limit:
        return []
    shown, least = (units.display(one, "W/m2", "W/mm2") for one in (peak, limit))
    power = units.display(limit / beam.peak_irradiance, "W", "W")
    return [
        f"At {trial.text} the beam's peak irradiance is {shown}. Below {least}, for which this spot takes "
        f"{power}, steam escapes from {top.name} faster than it gathers: it dries and chars, and goes only "
        "where it burns off."
    ]


def _range(unknown: Unknown, bounds: tuple[float, float]) -> str:
    return " to ".join(unknown.written(one) for one in bounds)
