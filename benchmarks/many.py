"""Many: a map of 1,000 shots over power, spot and dwell on two cores, as the command line writes it."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from process import ended
from rows import Row, at_most
from shot import COMMAND, change_text

MATERIAL = "soft_tissue"
TITLE = "1,000 shots"
ABOUT = (
    f"`spotdwell map` into {MATERIAL} over 10 powers of 5 W to 40 W, 10 spots of 0.4 mm to 2.5 mm and 10 "
    "dwells of 2 ms to 200 ms, all evenly spaced in logarithm, with two processes; from the shell's start to "
    "the process's exit, kernels cached, every point written to the file as it came. Accuracy: what changes "
    "with half the cells and half the steps, for three of the shots."
)
WORKERS, BAR = 2, 120.0
DEEP = 5e-3
"""[m]."""
SAMPLED = (("7.9 W", "0.6 mm", "5.6 ms"), ("14 W", "1 mm", "20 ms"), ("25 W", "1.7 mm", "72 ms"))


def rows(quick: bool) -> list[Row]:
    """Time of the map (of 64 shots if `quick`, without a bar), and what it found."""
    points = 4 if quick else 10
    with tempfile.TemporaryDirectory() as folder:
        ended(COMMAND, os.environ)  # leaves its kernels in the cache
        path = Path(folder, "map.h5")
        seconds = ended(command(path, points), os.environ).seconds
        found = _found(path)
    count = points**3
    whole = (
        Row(f"{count} shots only", f"{seconds:.3g} s")
        if quick
        else at_most(f"{count:,} shots", seconds, BAR, "s")
    )
    return [
        whole,
        Row("a shot, on each core", f"{seconds * WORKERS / count * 1e3:.0f} ms"),
        *found,
        *([] if quick else [Row(", ".join(one), "one of them", _accuracy(one)) for one in SAMPLED]),
    ]


def command(path: Path, points: int) -> list[str]:
    """The command line that maps `points` values of each of three settings to `path`."""
    over = (f"power: 5 W to 40 W, {points}, log", f"spot: 0.4 mm to 2.5 mm, {points}, log")
    over += (f"dwell: 2 ms to 200 ms, {points}, log",)
    words = [sys.executable, "-m", "spotdwell", "map", "--on", MATERIAL, "--quiet"]
    for axis in over:
        words += ["--over", axis]
    return [*words, "--workers", str(WORKERS), "--out", str(path)]


def _found(path: Path) -> list[Row]:
    """Failures, where the time went, and the size of the file."""
    from spotdwell.maps.store import load_cube

    cube = load_cube(path)
    failed = int(cube.failed.sum() + cube.missing.sum())
    deep = cube.measures["deepest"] > DEEP
    share = 100.0 * cube.seconds[deep].sum() / cube.seconds.sum()
    return [
        Row("points that failed", str(failed), "", "none", failed == 0),
        Row(f"of the time, in the {deep.sum()} craters deeper than {DEEP * 1e3:g} mm", f"{share:.0f} %"),
        Row("size of the file", f"{path.stat().st_size / 1e6:.1f} MB"),
    ]


def _accuracy(shot: tuple[str, str, str]) -> str:
    from spotdwell.inputs.shot import scenario_of_shot
    from spotdwell.pipeline import check_grid

    return change_text(check_grid(scenario_of_shot(MATERIAL, *shot)).rows())
