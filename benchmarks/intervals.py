"""Cost of intervals, in shots of the same setting: medians of pairs taken by turns, on one core.

python benchmarks/intervals.py [--repeats 7]
"""

from __future__ import annotations

import argparse
import os
import statistics
import tempfile
from dataclasses import replace
from functools import partial
from pathlib import Path

from timing import ONE_THREAD, Timed, by_turns, keep_to_one_core

SETTINGS = (
    ("skin", "4 W", "0.6 mm", "1 ms"),
    ("skin", "4 W", "0.6 mm", "10 ms"),
    ("oral_mucosa", "10 W", "1 mm", "20 ms"),
    ("skin", "20 W", "0.6 mm", "10 ms"),
    ("soft_tissue", "20 W", "1 mm", "20 ms"),
    ("oral_mucosa", "25 W", "1.6 mm", "80 ms"),
    ("soft_tissue", "40 W", "1 mm", "50 ms"),
    ("soft_tissue", "60 W", "0.6 mm", "50 ms"),
)
DRAWS = 8
"""Of the uncertainty study that is timed; its cost goes with their number."""


def measured(setting: tuple[str, str, str, str], repeats: int, folder: Path) -> None:
    """Print a line of the table."""
    from spotdwell import pipeline
    from spotdwell.inputs.shot import scenario_of_shot
    from spotdwell.maps.run import map_plan, point_of
    from spotdwell.spread.brief import brief
    from spotdwell.spread.run import uncertainty

    material, power, spot, dwell = setting
    scenario = scenario_of_shot(material, power, spot, dwell)
    over = {"material": material, "spot": spot, "dwell": dwell}
    plan = map_plan(over, f"power: {power}, 99 W")
    result = pipeline.run(scenario)
    study = brief(result, float("inf"))
    assert study is not None
    kept = replace(result, interval=study.interval)
    found = by_turns(
        {
            "shot": partial(pipeline.run, scenario),
            "few": partial(brief, result, float("inf")),
            "point": partial(point_of, plan, (0,)),
            "with": partial(point_of, replace(plan, intervals=True), (0,)),
            "bare": partial(result.save, folder / "bare.h5"),
            "kept": partial(kept.save, folder / "kept.h5"),
            "study": partial(uncertainty, scenario, DRAWS, 0, 1),
        },
        repeats,
    )
    updates = result.cost["cell_updates"] / 1e6
    each = ratio(found["study"], found["shot"]) / (DRAWS + 1)
    more = statistics.median(
        a - b for a, b in zip(found["kept"].seconds, found["bare"].seconds, strict=True)
    ) / found["shot"].median  # fmt: skip
    print(
        f"| {material.replace('_', ' ')}, {power}, {spot}, {dwell} | {updates:.3g} | "
        f"{1e3 * found['shot'].median:.0f} | {ratio(found['few'], found['shot']):.1f} | "
        f"{ratio(found['with'], found['point']):.1f} | {each:.2f} | {more:.2f} |",
        flush=True,
    )


def ratio(one: Timed, other: Timed) -> float:
    """Median over the pairs of the time of `one` over that of the `other`."""
    return statistics.median(a / b for a, b in zip(one.seconds, other.seconds, strict=True))


def main() -> None:
    os.environ.update(ONE_THREAD)
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=7)
    repeats = parser.parse_args().repeats
    keep_to_one_core()
    print(
        "| setting | cell updates [10⁶] | shot [ms] | its intervals | map point with | a draw | in its file |"
    )
    print("|---|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        for setting in SETTINGS:
            measured(setting, repeats, Path(folder))


if __name__ == "__main__":
    main()
