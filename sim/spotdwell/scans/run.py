"""A scan solved: from settings or a scenario to measures, verdict and result."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace
from typing import Any

import numpy as np

from spotdwell.base import units
from spotdwell.base.errors import RunError
from spotdwell.base.names import MEASURES
from spotdwell.base.settings import with_settings
from spotdwell.inputs.build import cautions_of
from spotdwell.inputs.read import material_texts, scenario_text
from spotdwell.inputs.scan import ScanTable, Way
from spotdwell.inputs.schema import Scenario
from spotdwell.measure import crater
from spotdwell.measure.summary import incident_energy, irradiance_mean, irradiance_peak, trusted_wall
from spotdwell.measure.verdict import Limits, Verdict, verdict_of
from spotdwell.model.exposure import steady
from spotdwell.output.result import result_of
from spotdwell.pipeline import setting_of, versions
from spotdwell.scans.measures import measures_of_scan, meeting_of, surface_of
from spotdwell.scans.request import Plan, plan_of, scenario_of_scan
from spotdwell.scans.result import ScanResult
from spotdwell.solve.march import Progress, marched
from spotdwell.solve.outcome import Outcome, Status, check_sound

Measures = dict[str, float | None]

CRITICAL_TEMPERATURE = 647.1
"""Of water [K]: hotter tissue is dry, or held below a crust that has lost a third of its water."""


@with_settings("count", "pause", "save_times", "geometry")
def scan(
    material: str,
    power: str | None = None,
    spot: str | None = None,
    *,
    way: str | None = None,
    length: str | None = None,
    width: str | None = None,
    spacing: str | None = None,
    speed: str | None = None,
    dwell: str | None = None,
    passes: int | None = None,
    turned: bool | None = None,
    line_pause: str | None = None,
    pass_pause: str | None = None,
    model: str | None = None,
    coagulation_limit: str | None = None,
    progress: Callable[[Progress], None] | None = None,
    **settings: Any,
) -> ScanResult:
    """Solve a pattern given by quantity strings, such as length "8 mm", spacing "0.1 mm", speed "400 mm/s".

    `way` is "back and forth" unless said, or "one way", "points" with a `dwell` each, or "spiral". `model` is
    "slice" or "block", or chosen. The other `settings` are those of a shot. Raises InputError that names the
    setting, and RunError if the run fails.
    """
    table = {
        "way": way,
        "length": length,
        "width": width,
        "spacing": spacing,
        "speed": speed,
        "dwell": dwell,
        "passes": passes,
        "turned": turned,
        "line_pause": line_pause,
        "pass_pause": pass_pause,
        "model": model,
        "coagulation_limit": coagulation_limit,
    }
    return scanned(scenario_of_scan(material, power, spot, table, **settings), progress)


def scanned(scenario: Scenario, progress: Callable[[Progress], None] | None = None) -> ScanResult:
    """Solve a scenario with a table [scan]; `progress` is called after every step.

    Raises InputError for what cannot be scanned and RunError for a run that failed. An interrupt leaves
    nothing behind.
    """
    return solved(plan_of(scenario), progress)


def solved(plan: Plan, progress: Callable[[Progress], None] | None = None) -> ScanResult:
    """Solve a `plan`. Raises as `scanned` does."""
    problem, light = plan.problem()
    meeting = meeting_of(plan.setup, plan.course, problem.grid.columns, light)
    outcome = marched(problem, progress, meeting.look)
    if outcome.status is Status.BOTTOM_REACHED:
        raise RunError("the scan reached the bottom of the target. Make the last layer thicker")
    surface = surface_of(plan.setup, plan.pattern, outcome)
    found = measures_of_scan(plan.setup, plan.pattern, plan.course, outcome, surface, meeting.found)
    common = _common(plan, outcome, found)
    check_sound(outcome, common)
    limit = plan.scenario.scan.coagulation_limit if plan.scenario.scan else None
    verdict, within = _verdict(plan.scenario, common, found, limit)
    record = result_of(
        problem,
        outcome,
        common,
        verdict,
        notes=(
            *plan.reasons,
            *problem.grid.reasons,
            *cautions_of(plan.scenario),
            *plan.cautions,
            *_doubts(outcome.peak_temperature),
        ),
        scenario_text=plan.scenario.origin.text or scenario_text(plan.scenario),
        materials=material_texts(plan.scenario),
        versions=versions(),
        setting=scan_setting(plan.scenario),
    )
    middle = 0.5 * (plan.course.begin + plan.course.end)[:, 1]
    return ScanResult(
        record,
        str(plan.model),
        found,
        surface,
        (plan.pattern.length, plan.pattern.width),
        middle,
        meeting.times,
        np.array(meeting.found),
        within,
        limit,
    )


def _doubts(peak: float) -> list[str]:
    """What is said of a scan in which a crust formed before the beam's middle came (THEORY.md, Scans)."""
    if peak <= CRITICAL_TEMPERATURE:
        return []
    return [
        f"A dried crust formed and got to {units.display(peak, 'K', 'degC')}: what is hot and wet below "
        "such a crust goes at once where it burns through. There the greatest depth and the layers hang on "
        "the width of columns by tens of per cent; the mean depth does not. Try another cell_width."
    ]


def _common(plan: Plan, outcome: Outcome, found: Measures) -> Measures:
    """The measures of any run; what a scan has not is None."""
    problem, radius = outcome.problem, plan.setup.beam.radius
    stay = 2.0 * radius / plan.pattern.speed if plan.pattern.speed > 0.0 else plan.pattern.dwell
    once = replace(problem, exposure=steady(plan.setup.power, stay))
    values: Measures = {
        "crater_depth": found["depth_mean"],
        "deepest": float(outcome.final.crater_depth.max()),
        "crater_width": min(plan.pattern.length, plan.pattern.width),
        "crater_volume": found["volume"],
        "solid_volume": crater.solid_volume(outcome),
        "crater_mass": outcome.removed_mass,
        **{f"{name}_thickness_floor": found[f"{name}_mean"] for name in ("char", "dried", "coagulation")},
        **{f"{name}_thickness_rim": found[f"{name}_edge"] for name in ("char", "dried", "coagulation")},
        "trusted_wall": trusted_wall(once),
        "peak_temperature": outcome.peak_temperature,
        "incident_energy": incident_energy(outcome),
        "energy_per_removed_volume": found["energy_per_volume"],
        "irradiance_mean": irradiance_mean(problem),
        "irradiance_peak": irradiance_peak(problem),
        "perforation_time": outcome.perforation_time,
        "end_time": outcome.final.time,
    }
    return {name: values.get(name) for name in MEASURES}


def _verdict(
    scenario: Scenario, common: Measures, found: Measures, limit: float | None
) -> tuple[Verdict, bool]:
    """The word for the worst place inside, and whether all limits are kept."""
    worst = common | {"char_thickness_floor": found["char_worst"], "char_volume": found["char_worst"]}
    verdict = verdict_of(worst, Limits(**dict(scenario.limits)))
    within = str(verdict.word) not in ("charred", "scorched", "too deep", "perforated")
    reasons = list(verdict.reasons)
    if limit is not None:
        most = max(found["coagulation_worst"] or 0.0, found["coagulation_edge"] or 0.0)
        kept = most <= limit * (1.0 + 1e-9)
        word = "within" if kept else "over"
        texts = units.display(most, "m", "um"), units.display(limit, "m", "um")
        reasons.append(
            f"The coagulated layer is at most {texts[0]} thick below floor and edge, {word} the limit of "
            f"{texts[1]}."
        )
        within = within and kept
    return replace(verdict, reasons=tuple(reasons)), within


def scan_setting(scenario: Scenario, left_out: Collection[str] = ()) -> dict[str, str]:
    """What a caption says of a scan, without the settings of its pattern that are `left_out`."""
    setting = setting_of(scenario)
    setting.pop("exposure", None)
    if scenario.scan is not None:
        setting["scan"] = pattern_text(scenario.scan, left_out)
    return setting


def pattern_text(table: ScanTable, left_out: Collection[str] = ()) -> str:
    """The pattern in words, without the settings that are `left_out`."""
    area = f"{units.written(table.length, 'm')} x {units.written(table.across, 'm')}"
    if table.way is Way.SPIRAL:
        area = f"{units.written(table.length, 'm')} wide"
    pace = (
        units.written(table.speed, "m/s") if table.speed else f"{units.written(table.dwell or 0.0, 's')} each"
    )
    passes = f"{table.passes} passes" if table.passes > 1 else "one pass"
    turned = ", every second one turned" if table.turned and table.passes > 1 else ""
    parts = {
        "spacing": f"{units.written(table.spacing, 'm')} apart",
        "speed": pace,
        "passes": passes + turned,
    }
    return ", ".join([str(table.way), area, *(one for name, one in parts.items() if name not in left_out)])
