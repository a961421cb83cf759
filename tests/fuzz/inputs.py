"""Inputs: the shipped scenarios and materials, laser files, tables and quantities, with something wrong."""

from __future__ import annotations

import random
import tempfile
import time
import warnings
from pathlib import Path
from typing import Any

import numpy as np
from cases import LONGEST, NASTY, Tally, rescaled, spoilt_text

from spotdwell import library, pipeline
from spotdwell.base import units
from spotdwell.calibration import request as bench_shots
from spotdwell.inputs import laser_file
from spotdwell.inputs.bench_table import Column, read_table
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import material_from_text, scenario_from_text, scenario_text
from spotdwell.maps import request as ranges
from spotdwell.measure.verdict import Word
from spotdwell.solve.outcome import MOST_IMBALANCE
from spotdwell.spots.run import lens_of

TINY = """
title = "A tiny slab"
[beam]
wavelength = "10.6 um"
power = "20 W"
[exposure]
dwell_time = "1 ms"
[target]
initial_temperature = "37 degC"
[[target.layers]]
material = "mine"
thickness = "0.3 mm"
[surface]
heat_transfer_coefficient = "10 W/m2/K"
[run]
end_time = "2 ms"
save_times = ["1 ms"]
[grid]
geometry = "slab"
area = "1 mm2"
cell_depth = "10 um"
[limits]
char_thickness = "47 um"
"""
LASER = """
[wavelength]
value = "10.6 um"
source = "stated"
[[diameter]]
dial = "1"
value = "672.2 um"
interval = ["645.4 um", "697.9 um"]
definition = "1/e2"
source = "craters"
[delivered_share]
value = 0.9
interval = [0.85, 0.95]
source = "meter"
"""
SHOTS = "power [W],dwell [ms],dial,depth [um],char seen\n5,10,1,70,yes\n10,10,1,150,no\n20,50,2,900,\n"
CRATERS = "pulse energy [mJ],crater diameter [um]\n5,420\n10,560\n20,690\n40,800\n80,900\n"
RANGES = (
    "power: 5 W to 40 W, 20",
    "dwell: 1 ms to 1 s, 20, log",
    "spot: 0.2 mm, 0.5 mm",
    "material: skin, liver",
)
UNITS = ("m", "W", "s", "K", "W/m2/K", "1/s", "J/kg", "m2", "1")
SIGNS = "msWKgJ()*/^29-.eµ°dBC²"
LENS = ("focal_length", "input_diameter", "wavelength", "power", "defocus", "wanted")


def fuzz_inputs(count: int, seed: int) -> Tally:
    """`count` inputs, a tenth of which are tiny runs to their end."""
    chance, tally = random.Random(seed), Tally("inputs")
    folder = library.folder(library.Shelf.SCENARIOS)
    scenarios = [path.read_text(encoding="utf-8") for path in sorted(folder.rglob("*.toml"))]
    shelf = library.folder(library.Shelf.MATERIALS)
    materials = [path.read_text(encoding="utf-8") for path in sorted(shelf.glob("*.toml"))]
    with tempfile.TemporaryDirectory() as place, warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        table = Path(place) / "table.csv"
        for _ in range(count):
            kind = chance.choices(
                ("scenario", "run", "material", "laser", "shots", "craters", "unit", "range", "lens"),
                (30, 12, 20, 6, 6, 6, 10, 5, 5),
            )[0]
            _CASES[kind](tally, chance, scenarios, materials, table)
    return tally


def _scenario(tally: Tally, chance: random.Random, scenarios: list[str], _: Any, __: Any) -> None:
    text = spoilt_text(chance.choice(scenarios), chance)

    def case() -> None:
        scenario = scenario_from_text(text, "mine.toml")
        problem_of(scenario)
        assert scenario_from_text(scenario_text(scenario)) == scenario, "it reads back as another"

    tally.judge(f"scenario {text!r}", case)


def _material(tally: Tally, chance: random.Random, _: Any, materials: list[str], __: Any) -> None:
    text = spoilt_text(chance.choice(materials), chance)
    tally.judge(f"material {text!r}", lambda: material_from_text(text))


def _run(tally: Tally, chance: random.Random, _: Any, materials: list[str], __: Any) -> None:
    """A tiny slab of a material with something wrong in either, solved to its end."""
    material, text = chance.choice(materials), TINY
    if chance.random() < 0.4:
        for _ in range(chance.randrange(1, 4)):
            material = rescaled(material, chance)
    elif chance.random() < 0.4:
        text = rescaled(rescaled(text, chance), chance)
    elif chance.random() < 0.6:
        material = spoilt_text(material, chance)
    else:
        text = spoilt_text(text, chance)

    def case() -> None:
        material_from_text(material)
        lines = [
            f"[materials.mine.{line[1:]}" if line[:1] == "[" != line[1:2] else line
            for line in material.split("\n")
        ]
        lines = [f"[[materials.mine.{line[2:]}" if line[:2] == "[[" else line for line in lines]
        _solve(tally, f"{text}\n[materials.mine]\n" + "\n".join(lines))

    tally.judge(f"run {text!r} {material!r}", case)


def _solve(tally: Tally, text: str) -> None:
    scenario = scenario_from_text(text, "mine.toml")
    problem = problem_of(scenario)
    pulses, steps = problem.exposure.start.size, problem.stepping
    if problem.grid.columns.count * problem.grid.depth.size > 20_000 or pulses > 50 or steps.largest < 1e-6:
        return  # not tiny any more
    if (scenario.run.end_time or 1.0) > 0.1 or steps.growth < 0.01 or steps.front_share < 0.01:
        return
    began = time.perf_counter()

    def watched(_: Any) -> None:
        assert time.perf_counter() - began < LONGEST, "a tiny run takes for ever"

    result = pipeline.run(scenario, watched)
    terms = result.ledger
    missing = terms["incident"] - sum(value for name, value in terms.items() if name != "incident")
    error = abs(missing) / (max(map(abs, terms.values())) or 1.0)
    tally.worst_ledger = max(tally.worst_ledger, error)
    assert error <= MOST_IMBALANCE
    assert result.verdict.word in set(Word)
    assert all(value is None or np.isfinite(value) for value in result.measures.values())
    assert all(np.all(np.isfinite(one.temperature)) for one in result.snapshots)


def _laser(tally: Tally, chance: random.Random, *_: Any) -> None:
    text = spoilt_text(LASER, chance)
    tally.judge(f"laser {text!r}", lambda: laser_file.laser_from_text(text))


def _shots(tally: Tally, chance: random.Random, _: Any, __: Any, table: Path) -> None:
    text = _spoilt_table(SHOTS, chance)
    table.write_bytes(text.encode("utf-8", "surrogatepass"))
    tally.judge(f"shots {text!r}", lambda: bench_shots.read_shots(table))


def _craters(tally: Tally, chance: random.Random, _: Any, __: Any, table: Path) -> None:
    from spotdwell.craters.run import spot_from_craters

    text = _spoilt_table(CRATERS, chance)
    table.write_bytes(text.encode("utf-8", "surrogatepass"))
    if chance.random() < 0.5:
        tally.judge(f"craters {text!r}", lambda: spot_from_craters(table))
    else:
        columns = (Column("pulse energy", "J", "5 mJ"), Column("crater diameter", "m", "400 um"))
        tally.judge(f"table {text!r}", lambda: read_table(table, columns))


def _spoilt_table(text: str, chance: random.Random) -> str:
    for _ in range(chance.choice((1, 1, 2, 3))):
        if chance.random() < 0.5:
            lines = text.split("\n")
            at = chance.randrange(len(lines))
            cells = lines[at].split(",")
            cells[chance.randrange(len(cells))] = chance.choice(NASTY)
            lines[at] = ",".join(cells)
            text = "\n".join(lines)
        else:
            text = spoilt_text(text, chance)
    return text


def _unit(tally: Tally, chance: random.Random, *_: Any) -> None:
    text = chance.choice(NASTY)
    if chance.random() < 0.7:
        text = f"{chance.choice(('3', '1e5', '.5', '-2'))} " + "".join(
            chance.choice(SIGNS) for _ in range(chance.randrange(14))
        )
    unit = chance.choice(UNITS)
    tally.judge(
        f"quantity {text!r} in {unit}", lambda: units.parse(text, unit, where="x", example=f"1 {unit}")
    )


def _range(tally: Tally, chance: random.Random, *_: Any) -> None:
    text = spoilt_text(chance.choice(RANGES), chance)
    tally.judge(f"range {text!r}", lambda: ranges.range_of(text))


def _lens(tally: Tally, chance: random.Random, *_: Any) -> None:
    from spotdwell.console.screen import text_of
    from spotdwell.spots.run import spot_behind
    from spotdwell.spots.shown import lines

    given: dict[str, str | float | None] = {"focal_length": "125 mm", "input_diameter": "10 mm"}
    for _ in range(chance.randrange(1, 4)):
        value = chance.choice(
            (*NASTY, *(f"{n}e{p} {u}" for n in (1, -3) for p in (-12, -3, 6, 300) for u in ("m", "W")))
        )
        given[chance.choice(LENS)] = value
    if chance.random() < 0.3:
        given["beam_quality"] = chance.choice((1.0, 1e300, 0.5, float("nan"), 2.0, 1e6))
    tally.judge(f"lens {given!r}", lambda: text_of(*lines(spot_behind(lens_of(**given)))))


_CASES = {
    "scenario": _scenario,
    "run": _run,
    "material": _material,
    "laser": _laser,
    "shots": _shots,
    "craters": _craters,
    "unit": _unit,
    "range": _range,
    "lens": _lens,
}
