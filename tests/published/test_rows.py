"""The tool against published measurements, row by row; each names its source when it fails or is missed."""

import math
import re
import tomllib
from pathlib import Path

import pytest

from spotdwell.library import Shelf, names, text
from spotdwell.study.evidence.calibrate import misfit
from spotdwell.study.evidence.published import Row, evaluate, rows

pytestmark = pytest.mark.compiled

ROWS = {row.name: row for row in rows()}
THEORY = Path(__file__).parents[2] / "sim" / "THEORY.md"

IN_PLACE = "water boils in place and takes its absorption with it, where superheated liquid would keep it"
MISSES = {
    # Walsh et al., CLEO 1989
    "V1 damage, steady beam": "computed 0.41 of measured: no liquefied layer stays in the cut and holds heat",
    "V3 heat of ablation, steady beam": "computed 0.38 of measured: a steady plume, walls of deep holes and "
    "recondensing steam are left out; 0.38 of the beam would have to get through",
    # Suter et al. 2017
    "V7 damage, pulsed Er:YAG": "computed 0.11 of measured: no liquefied layer, tears or spikes of the pulse",
    # Ren et al. 1992
    "V9 threshold, 2.94 um, 200 us": f"computed 1.6 of measured: {IN_PLACE}",
    "V9 threshold, 2.79 um, 200 us": f"computed 2.1 of measured: {IN_PLACE}",
    "V9 threshold, 2.94 um, 100 ns": f"computed 2.2 of measured: {IN_PLACE}",
    "V9 threshold, 2.79 um, 100 ns": f"computed 5.3 of measured: {IN_PLACE}, and hot water absorbs more "
    "at 2.79 um than cold (Cummings and Walsh, Appl Phys Lett 1993;62:1988)",
    # Choi et al. 1998
    "V13 char, 2.4 J/cm2": "none within 15 pulses, against 5 to 8: browning at 200 degC is no pyrolysis as "
    "thermogravimetry has it",
    "V13 char, 3.9 J/cm2": "none within 15 pulses, against 3: as at 2.4 J/cm2",
}
"""Expected misses, with their size and likely reason; THEORY.md, Published rows, has them too."""


def expected(row: Row) -> object:
    reason = MISSES.get(row.name)
    marks = () if reason is None else (pytest.mark.xfail(strict=True, reason=f"{row.source}: {reason}"),)
    return pytest.param(row, id=row.name, marks=marks)


@pytest.mark.parametrize("row", [expected(row) for row in rows()])
def test_a_row_lies_within_the_spread_of_its_source(row: Row) -> None:
    computed = evaluate(row)
    assert row.holds(computed), f"{computed:.4g}, not {row.measured} +- {row.spread} {row.unit}: {row.source}"


def theory_table() -> dict[str, list[str]]:
    """Cells of each row of THEORY.md, Published rows, by name."""
    section = THEORY.read_text(encoding="utf-8").split("## Published rows")[1].split("\n## ")[0]
    lines = [line.strip("|").split("|") for line in section.splitlines() if "|" in line]
    cells = [[cell.strip() for cell in line] for line in lines]
    return {row[0]: row[1:] for row in cells if row[0] in ROWS}


GOLDEN_SHARE = 0.03
"""Twice the last halving of a threshold, which round-off may turn; all else repeats far closer."""


@pytest.mark.parametrize("name", ROWS)
def test_the_table_in_theory_states_what_is_computed(name: str) -> None:
    """Golden numbers: a change of the closure, of the solver or of a measure shows here."""
    measured, computed, ratio = theory_table()[name][:3]
    found = evaluate(ROWS[name])
    stated = float(computed.removeprefix("none, "))
    assert float(measured.split()[0]) == ROWS[name].measured
    assert found == pytest.approx(stated, rel=GOLDEN_SHARE)
    assert float(ratio) == pytest.approx(found / ROWS[name].measured, abs=0.006 + GOLDEN_SHARE * float(ratio))


def test_the_table_in_theory_names_every_miss_and_only_those() -> None:
    missed = {name for name, cells in theory_table().items() if cells[3] != "hit"}
    assert missed == set(MISSES)


CALIBRATED = {
    "tissue.ejected_share": (0.72, 0.88, "V7 damage, pulsed CO2"),
    "tissue.steam_escape_time": ("3.4 ms", "4.2 ms", "V2 limit of char"),
    "tissue.absorption.10.6 um": ("5.4e3 1/m", "6.6e3 1/m", "V13 surface, 3.9 J/cm2"),
    "pmma.pyrolysis.heat": ("1.9 MJ/kg", "2.3 MJ/kg", "V12 acrylic at 2600 W/cm2"),
}
"""Each calibrated value a tenth lower and higher, and a row that notices."""


@pytest.mark.parametrize("key", CALIBRATED)
@pytest.mark.parametrize("which", [0, 1], ids=["lower", "higher"])
def test_a_tenth_off_any_calibrated_value_leaves_the_golden_numbers(key: str, which: int) -> None:
    row = ROWS[CALIBRATED[key][2]]
    moved = evaluate(row, {key: CALIBRATED[key][which]})
    assert abs(math.log(moved / evaluate(row))) > GOLDEN_SHARE


EDGES = {
    # A fit of the corneal thresholds makes pulsed CO2 damage too thin; none lost makes removal too dear.
    ("tissue.ejected_share", 0.5, "V7 damage, pulsed CO2"),
    ("tissue.ejected_share", 0.99, "V2 limit of char"),
    ("tissue.steam_escape_time", "2 ms", "V2 limit of char"),
    ("tissue.steam_escape_time", "6 ms", "V2 limit of char"),
    # What the pulse number of char asks for.
    ("tissue.absorption.10.6 um", "2e4 1/m", "V13 surface, 2.4 J/cm2"),
    ("tissue.absorption.10.6 um", "4e3 1/m", "V13 surface, 3.9 J/cm2"),
    ("pmma.pyrolysis.heat", "0.87 MJ/kg", "V12 acrylic at 200 W/cm2"),
    ("pmma.pyrolysis.heat", "2.4 MJ/kg", "V12 acrylic at 20 W/cm2"),
}


@pytest.mark.parametrize(("key", "edge", "name"), sorted(EDGES, key=str))
def test_the_ends_of_a_calibrated_range_miss_a_row_that_the_value_hits(
    key: str, edge: str | float, name: str
) -> None:
    assert not ROWS[name].holds(evaluate(ROWS[name], {key: edge}))


def calibrated(table: dict[str, object], path: str = "") -> dict[str, object]:
    """Values of a material file whose basis is calibrated, by key."""
    found: dict[str, object] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            inner = {path + key: value["value"]} if value.get("basis") == "calibrated" else None
            found |= inner if inner is not None else calibrated(value, f"{path}{key}.")
    absorption = table.get("absorption", [])
    assert isinstance(absorption, list)
    return found | {
        f"absorption.{row['wavelength']}": row["value"] for row in absorption if row["basis"] == "calibrated"
    }


@pytest.mark.parametrize("material", names(Shelf.MATERIALS))
def test_every_value_called_calibrated_is_held_by_a_row(material: str) -> None:
    whose = "pmma" if material == "pmma" else "tissue"
    held = {key.partition(".")[2] for key in CALIBRATED if key.startswith(whose)}
    found = calibrated(tomllib.loads(text(Shelf.MATERIALS, material)))
    assert set(found) <= held


@pytest.mark.parametrize("material", ["oral_mucosa", "soft_tissue"])
def test_one_calibrated_closure_serves_all_tissues_that_state_it(material: str) -> None:
    """Rows run on skin and mucosa; this ties soft tissue to them."""
    skin = calibrated(tomllib.loads(text(Shelf.MATERIALS, "skin")))
    assert len(skin) == 3
    assert calibrated(tomllib.loads(text(Shelf.MATERIALS, material))) == skin


def test_a_misfit_is_one_at_the_upper_end_of_the_spread_and_finite_at_zero() -> None:
    row = ROWS["V2 limit of char"]
    assert misfit(row, row.measured + row.spread) == pytest.approx(1.0, rel=1e-12)  # round-off
    assert misfit(row, row.measured) == 0.0
    assert math.isfinite(misfit(row, 0.0))


def test_every_row_says_where_it_comes_from_and_why_its_spread() -> None:
    for row in rows():
        assert re.search(r"(19|20)\d\d", row.source), row.name
        assert row.reason and row.setting and row.spread > 0.0
