"""The tool against published measurements, row by row; each names its source when it fails or is missed."""

import math
import re
import tomllib
from pathlib import Path

import pytest

from spotdwell.evidence.closure import misfit
from spotdwell.evidence.published import Row, evaluate, rows
from spotdwell.inputs.material import with_borrowed
from spotdwell.library import Shelf, names, text

pytestmark = pytest.mark.compiled

ROWS = {row.name: row for row in rows()}
THEORY = Path(__file__).parents[2] / "sim" / "THEORY.md"

MISSES = {
    # Ren et al. 1992
    "V9 threshold, 2.94 um, 200 us": "computed 1.9 of measured: in 200 us heat leaves the micrometre "
    "that light reaches",
    "Cornea damage, 2.79 um, 200 us": "computed 0.26 of measured: as at 2.94 um, where hot water "
    "absorbs alike",
    # Nishioka and Domankevitz 1990
    "Ho threshold of liver": "computed 1.7 of measured: no one rupture temperature gives both lines",
    # Pierce et al. 1999
    "Narrow hole, 2 um, 0.8 W": "nothing removed: dried tissue is clear at 2 um here, as its char "
    "absorbs no more",
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
FINE_SHARE = 0.01
"""The same for rows that must notice a small change of a value."""
FINE = ("Er:YAG removed mass", "V1 damage at 13 kW/cm2", "Cornea damage, 2.79 um, 100 ns")


def golden(name: str) -> float:
    return FINE_SHARE if name in FINE else GOLDEN_SHARE


@pytest.mark.parametrize("name", ROWS)
def test_the_table_in_theory_states_what_is_computed(name: str) -> None:
    """Golden numbers: a change of the closure, of the solver or of a measure shows here."""
    measured, computed, ratio = theory_table()[name][:3]
    found = evaluate(ROWS[name])
    stated = float(computed.removeprefix("none, "))
    assert float(measured.split()[0]) == ROWS[name].measured
    assert found == pytest.approx(stated, rel=golden(name))
    assert float(ratio) == pytest.approx(found / ROWS[name].measured, abs=0.006 + golden(name) * float(ratio))


def test_the_table_in_theory_names_every_miss_and_only_those() -> None:
    missed = {name for name, cells in theory_table().items() if cells[3] != "hit"}
    assert missed == set(MISSES)


CALIBRATED = {
    "skin.rupture_temperature": ("270 degC", "330 degC", "V2 limit of char"),
    "oral_mucosa.rupture_temperature": ("180 degC", "220 degC", "V9 threshold, 2.94 um, 100 ns"),
    "tissue.rupture_water_share": (0.567, 0.693, "V2 limit of char"),
    "tissue.steam_escape_time": ("1.62 ms", "1.98 ms", "V2 limit of char"),
    "tissue.film_thickness": ("29.7 um", "36.3 um", "V1 damage at 13 kW/cm2"),
    "tissue.film_growth": (0.18, 0.22, "Er:YAG skin damage, 200 us"),
    "tissue.debris.10.6 um": ("2.7 kJ/cm3", "3.3 kJ/cm3", "V3 heat of ablation, steady beam"),
    "tissue.debris.2.1 um": ("8.1 kJ/cm3", "9.9 kJ/cm3", "Ho heat of ablation of liver"),
    "tissue.debris.2.94 um": ("0.72 kJ/cm3", "0.88 kJ/cm3", "Er:YAG removed mass"),
    "tissue.absorption.10.6 um": ("5.4e3 1/m", "6.6e3 1/m", "V13 surface, 3.9 J/cm2"),
    "tissue.damage.browning": ("4.05e15 1/s", "4.95e15 1/s", "V13 char, 2.4 J/cm2"),
    "tissue.slope.10.6 um": ("1.35e-3 1/K", "1.65e-3 1/K", "V1 damage at 13 kW/cm2"),
    "tissue.slope.2.94 um": ("4.14e-3 1/K", "5.06e-3 1/K", "V9 threshold, 2.94 um, 100 ns"),
    "tissue.slope.2.79 um": ("-1.35e-3 1/K", "-1.65e-3 1/K", "Cornea damage, 2.79 um, 100 ns"),
    "pmma.pyrolysis.heat": ("1.9 MJ/kg", "2.3 MJ/kg", "V12 acrylic at 20 W/cm2"),
}
"""Each calibrated value a tenth lower and higher, and a row that notices."""


@pytest.mark.parametrize("key", CALIBRATED)
@pytest.mark.parametrize("which", [0, 1], ids=["lower", "higher"])
def test_a_tenth_off_any_calibrated_value_leaves_the_golden_numbers(key: str, which: int) -> None:
    row = ROWS[CALIBRATED[key][2]]
    moved = evaluate(row, {key: CALIBRATED[key][which]})
    assert abs(math.log(moved / evaluate(row))) > golden(row.name)


EDGES = {
    # The surface of stacked pulses is thrown out wet, or char goes on too far.
    ("skin.rupture_temperature", "270 degC", "V13 surface, 3.9 J/cm2"),
    ("tissue.rupture_water_share", 0.5, "V13 surface, 3.9 J/cm2"),
    ("tissue.rupture_water_share", 0.75, "V2 limit of char"),
    ("tissue.steam_escape_time", "1 ms", "V2 limit of char"),
    ("tissue.steam_escape_time", "3 ms", "V13 surface, 3.9 J/cm2"),
    ("oral_mucosa.rupture_temperature", "170 degC", "V9 threshold, 2.94 um, 100 ns"),
    ("oral_mucosa.rupture_temperature", "230 degC", "V9 threshold, 2.79 um, 100 ns"),
    ("tissue.film_thickness", "50 um", "V7 damage, pulsed CO2"),
    ("tissue.film_growth", 0.4, "V7 damage, pulsed Er:YAG"),
    ("tissue.debris.10.6 um", "2 kJ/cm3", "V3 heat of ablation, steady beam"),
    ("tissue.debris.2.1 um", "5 kJ/cm3", "Ho heat of ablation of liver"),
    ("tissue.debris.2.94 um", "0.4 kJ/cm3", "Er:YAG removed mass"),
    ("tissue.slope.2.94 um", "3e-3 1/K", "V9 threshold, 2.94 um, 100 ns"),
    ("tissue.slope.2.79 um", "0 1/K", "V9 threshold, 2.79 um, 100 ns"),
    ("tissue.absorption.10.6 um", "2e4 1/m", "V13 surface, 2.4 J/cm2"),
    ("tissue.absorption.10.6 um", "4e3 1/m", "V13 surface, 3.9 J/cm2"),
    ("pmma.pyrolysis.heat", "0.87 MJ/kg", "V12 acrylic at 200 W/cm2"),
    ("pmma.pyrolysis.heat", "2.4 MJ/kg", "V12 acrylic at 20 W/cm2"),
}


@pytest.mark.parametrize(("key", "edge", "name"), sorted(EDGES, key=str))
def test_the_ends_of_a_calibrated_range_miss_a_row_that_the_value_hits(
    key: str, edge: str | float, name: str
) -> None:
    assert ROWS[name].holds(evaluate(ROWS[name]))
    assert not ROWS[name].holds(evaluate(ROWS[name], {key: edge}))


def calibrated(table: dict[str, object], path: str = "") -> dict[str, object]:
    """Values of a material file whose basis is calibrated, by key."""
    found: dict[str, object] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            inner = {path + key: value["value"]} if value.get("basis") == "calibrated" else None
            found |= inner if inner is not None else calibrated(value, f"{path}{key}.")
        elif isinstance(value, list) and key in ("absorption", "debris", "damage"):
            for row in value:
                if row["basis"] == "calibrated":
                    name = row.get("wavelength", row.get("name"))
                    found[f"{key}.{name}"] = row.get("value", row.get("frequency_factor"))
    return found


FAMILY = "families/moist_tissue"


@pytest.mark.parametrize("material", [*names(Shelf.MATERIALS), FAMILY])
def test_every_value_called_calibrated_is_held_by_a_row(material: str) -> None:
    held = {
        key.partition(".")[2] for key in CALIBRATED if key.partition(".")[0] in (material, "tissue")
    }  # fmt: skip
    found = calibrated(tomllib.loads(text(Shelf.MATERIALS, material)))
    assert set(found) <= held


def test_every_slope_called_calibrated_is_held_by_a_row() -> None:
    lines = tomllib.loads(text(Shelf.MATERIALS, "optics/water"))["line"]
    found = {
        f"tissue.slope.{line['wavelength']}" for line in lines if line.get("slope_basis") == "calibrated"
    }
    assert found and found <= set(CALIBRATED)


@pytest.mark.parametrize("material", ["skin", "oral_mucosa", "soft_tissue", "muscle", "liver"])
def test_one_calibrated_closure_serves_all_tissues(material: str) -> None:
    """Rows run on skin, mucosa and liver; this ties the others to them."""
    family = calibrated(tomllib.loads(text(Shelf.MATERIALS, FAMILY)))
    whole = calibrated(with_borrowed(tomllib.loads(text(Shelf.MATERIALS, material))))
    own = {"rupture_temperature"}
    assert {
        key: value for key, value in whole.items() if key not in own and not key.startswith("damage")
    } == {key: value for key, value in family.items() if not key.startswith("damage")}


def test_a_misfit_is_one_at_the_upper_end_of_the_spread_and_finite_at_zero() -> None:
    row = ROWS["V2 limit of char"]
    assert misfit(row, row.measured + row.spread) == pytest.approx(1.0, rel=1e-12)  # round-off
    assert misfit(row, row.measured) == 0.0
    assert math.isfinite(misfit(row, 0.0))


def test_every_row_says_where_it_comes_from_and_why_its_spread() -> None:
    for row in rows():
        assert re.search(r"(19|20)\d\d", row.source), row.name
        assert row.reason and row.setting and row.spread > 0.0
