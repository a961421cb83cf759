"""The credibility report: every section, the numbers of the checks, one file that fetches nothing."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from html.parser import HTMLParser
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from spotdwell import library
from spotdwell.base.errors import InputError, RunError
from spotdwell.base.units import significant
from spotdwell.cli import main
from spotdwell.document.paper import pages
from spotdwell.evidence import credibility, published, report, selfcheck
from spotdwell.evidence.check import Check
from spotdwell.evidence.credibility import Comparison, Evidence, Ledger, converge, grid_convergence
from spotdwell.evidence.report import prepare
from spotdwell.evidence.report_parts import goals_of
from spotdwell.inputs.read import scenario_from_text
from spotdwell.inputs.schema import Scenario
from spotdwell.library import Shelf
from spotdwell.spread.run import uncertainty

SLAB = """
title = "A <tiny> slab & more"

[beam]
wavelength = "10.6 um"
power = "20 W"

[exposure]
dwell_time = "5 ms"

[target]
[[target.layers]]
material = "soft_tissue"

[run]
end_time = "8 ms"

[grid]
geometry = "slab"
area = "1 mm2"
cell_depth = "10 um"
depth = "1 mm"
"""
CHECKS = ["damage", "surface-loss"]
ROWS = [
    published.Row("first", "width", 100.0, 30.0, "stated", "um", "A source", "a slab", lambda _: 88.5),
    published.Row("second", "threshold", 6.0, 2.0, "a third", "kW/cm2", "Another", "a slab", lambda _: 21.4),
]
SCANNED = published.Row("lines", "depth", 25.0, 5.0, "stated", "um", "Review", "a slab", lambda _: 6.25)
SECTIONS = [
    "Use and question",
    "Findings",
    "Code verification: does it solve its equations?",
    "Solution verification: what do cells and steps leave open?",
    "Three grids of a gentle shot",
    "Three grids of a cutting shot",
    "Energy ledgers",
    "Validation: computed against measured",
    "Scanned beams",
    "At what tissue is thrown out",
    "Uncertainty: what do the materials' ranges leave open?",
    "What the model should not be used for",
    "Cautions",
    "Versions and machine",
]


def slab(_: str = "") -> Scenario:
    return scenario_from_text(SLAB)


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    """A reduced set: two closed forms, a slab, two rows, eight samples."""
    checks, names = selfcheck.run_checks, library.names
    monkeypatch.setattr(credibility, "run_checks", lambda progress: checks(progress, CHECKS))
    monkeypatch.setattr(credibility, "shipped_scenario", slab)
    tiny = {Shelf.SCENARIOS: ("tiny",), Shelf.MATERIALS: names(Shelf.MATERIALS)}
    monkeypatch.setattr(library, "names", tiny.get)
    monkeypatch.setattr(credibility, "rows", lambda: tuple(ROWS))
    monkeypatch.setattr(credibility, "scanned_rows", lambda: (SCANNED,))
    sampled = partial(uncertainty, samples=8, workers=1)
    monkeypatch.setattr(credibility, "uncertainty", sampled)


@pytest.fixture
def evidence(few: None) -> Evidence:
    return credibility.gather()


class Reader(HTMLParser):
    """Follows the nesting of elements, and collects headings, cells and whatever could be fetched."""

    ALONE = ("meta", "link", "img", "br", "hr")

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.headings: list[str] = []
        self.cells: list[str] = []
        self.fetched: list[str] = []
        self.pictures = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.fetched += [
            value for name, value in attrs if value and name in ("src", "href", "srcset", "data")
        ]
        self.fetched += [value for name, value in attrs if value and name == "xlink:href" and value[0] != "#"]
        self.pictures += tag == "svg"
        if tag in ("h2", "h3"):
            self.headings.append("")
        if tag == "td":
            self.cells.append("")
        if tag not in self.ALONE:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] in ("h2", "h3"):
            self.headings[-1] += data
        if self.open and self.open[-1] == "td":
            self.cells[-1] += data


def read(text: str) -> Reader:
    reader = Reader()
    reader.feed(text)
    reader.close()
    assert reader.open == []
    return reader


@pytest.mark.compiled
def test_both_files_hold_every_section_and_each_number_of_the_checks(
    evidence: Evidence, tmp_path: Path
) -> None:
    report.write_report(evidence, tmp_path)
    page = read((tmp_path / "report.html").read_text())
    plain = (tmp_path / "report.md").read_text()
    assert page.headings == SECTIONS
    assert re.findall(r"^##+ (.*)$", plain, re.MULTILINE) == SECTIONS
    for check in selfcheck.run_checks(names=CHECKS):
        for shown in (check.claimed, check.computed):
            assert significant(shown, 5) in page.cells
            assert significant(shown, 5) in plain
        assert f"{check.error:.2g}" in page.cells
        assert f"{check.tolerance:.2g}" in page.cells
    assert {"88.5", "0.89", "within", "21.4", "3.57", "outside"} <= set(page.cells)
    assert "1 of 2 rows lie within" in plain
    assert "0 of 1 rows lie within" in plain
    assert {"6.25", "0.25"} <= set(page.cells)
    depth = evidence.intervals.spreads["crater_depth"]
    for value in (depth.nominal, depth.low, depth.median, depth.high):
        assert value is not None
        assert significant(1e6 * value) in page.cells
    assert sorted(path.name for path in tmp_path.iterdir()) == ["published.svg", "report.html", "report.md"]


def test_each_rupture_temperature_stands_with_its_pressure() -> None:
    lines = report._ruptures()
    assert "skin ruptures at 300 degC (8.6 MPa)." in lines
    moist = [name for name in library.names(Shelf.MATERIALS) if name not in ("hardwood_dry", "pmma")]
    assert [line.split(" ")[0] for line in lines] == [name for name in moist if name != "water_film"]


@pytest.mark.compiled
def test_the_html_is_whole_and_fetches_nothing(evidence: Evidence, tmp_path: Path) -> None:
    report.write_report(evidence, tmp_path)
    text = (tmp_path / "report.html").read_text()
    page = read(text)
    assert page.pictures == 1
    assert page.fetched == []
    assert not re.search(r"https?:|//[a-z]|@import|url\((?!#)|<script|<link", text)
    assert "A <tiny>" not in text
    assert "A &lt;tiny&gt; slab &amp; more" in text


@pytest.mark.compiled
def test_the_report_is_typeset_on_paper_by_the_same_printer(evidence: Evidence) -> None:
    document = report.document_of(evidence)
    said = {text.get_text() for page in pages(document) for text in page.axes[0].texts}
    assert set(SECTIONS) <= said
    assert significant(evidence.checks[0].claimed, 5) in said


def test_the_reader_of_these_tests_sees_bad_html() -> None:
    with pytest.raises(AssertionError):
        read("<p>one<b>two</p></b>")
    with pytest.raises(AssertionError):
        read("<p>never closed")
    assert read('<img src="x.png"><a href="y">z</a>').fetched == ["x.png", "y"]


@pytest.mark.compiled
def test_goals_turn_with_the_evidence(evidence: Evidence) -> None:
    def met(changed: Evidence) -> dict[str, bool]:
        return {goal.goal: goal.met for goal in goals_of(changed)}

    forms = "every closed form is met within its stated tolerance"
    ledger = "energies add up to 1e-10 of what was sent"
    row = "each published measurement lies within its own scatter"
    before = met(evidence)
    assert before[forms]
    assert before[ledger]
    assert not before[row]
    assert evidence.verified
    failed: tuple[Check, ...] = (replace(evidence.checks[0], passed=False), *evidence.checks[1:])
    leaking = (Ledger("tiny", "", 1.0, -1e-6),)
    assert not met(replace(evidence, checks=failed))[forms]
    assert not replace(evidence, checks=failed).verified
    assert not met(replace(evidence, ledgers=leaking))[ledger]
    assert not replace(evidence, ledgers=leaking).verified
    assert met(replace(evidence, comparisons=(Comparison(ROWS[0], 100.0),)))[row]
    assert not before["so does each beside a beam that moves"]


def second_order(h: float) -> float:
    """A sequence with an error of 3 h^2 around 7."""
    return 7.0 + 3.0 * h**2


@pytest.mark.parametrize("ratio", [2.0, 1.5])
def test_a_second_order_sequence_gives_order_2_and_an_index_of_125_percent_of_its_error(ratio: float) -> None:
    sizes = [0.1 * ratio**2, 0.1 * ratio, 0.1]
    found = grid_convergence("made up", [second_order(h) for h in sizes], ratio)
    assert found.order is not None
    assert found.index is not None
    assert_allclose(found.order, 2.0, rtol=1e-10)  # round-off of differences of numbers near 7
    error = second_order(0.1) - 7.0
    assert_allclose(found.index, 1.25 * error / second_order(0.1), rtol=1e-10)


def test_a_first_order_sequence_gives_order_1() -> None:
    found = grid_convergence("made up", [7.0 + h for h in (0.4, 0.2, 0.1)])
    assert found.order is not None
    assert_allclose(found.order, 1.0, rtol=1e-10)
    assert_allclose(found.index or math.nan, 1.25 * 0.1 / 7.1, rtol=1e-10)


@pytest.mark.parametrize(
    "values", [(1.0, 1.2, 1.1), (1.0, 1.1, 1.3), (1.0, 2.0, 2.01), (1.0, 1.0, 1.1)], ids=str
)
def test_values_that_do_not_settle_believably_get_no_order_and_three_times_the_change(
    values: tuple[float, float, float],
) -> None:
    """They swing, drift apart, settle faster than the scheme can, or start moving late."""
    found = grid_convergence("made up", values)
    assert found.order is None
    assert_allclose(found.index or math.nan, 3.0 * abs(values[2] - values[1]) / values[2], rtol=1e-12)


@pytest.mark.compiled
def test_grids_of_a_gentle_slab_show_second_order() -> None:
    gentle = scenario_from_text(SLAB.replace('"20 W"', '"0.5 W"').replace('"10 um"', '"4 um"'))
    (rise,) = converge(gentle, ["peak_temperature"])
    assert rise.order is not None
    assert 1.7 < rise.order < 2.3  # the slope between finite grids is not yet quite 2
    assert abs(rise.change or 1.0) < 0.01


@pytest.mark.compiled
def test_the_command_writes_the_report_and_tells_progress_apart(
    few: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "new"
    assert main(["selfcheck", "--full", "--out", str(folder)]) == 0
    said = capsys.readouterr()
    assert (folder / "report.html").is_file()
    assert "report.html" in said.out
    assert "Running" not in said.out
    assert "Running: Published: second ..." in said.err


@pytest.mark.compiled
def test_a_failed_check_is_reported_and_the_command_says_so(
    few: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    true: Callable[..., list[Check]] = credibility.run_checks
    monkeypatch.setattr(
        credibility, "run_checks", lambda progress: [replace(one, passed=False) for one in true(progress)]
    )
    assert main(["selfcheck", "--full", "--out", str(tmp_path)]) == 1
    assert "NOT MET" in capsys.readouterr().out
    assert 'class="miss"' in (tmp_path / "report.html").read_text()


def test_a_folder_that_cannot_be_written_is_refused_before_anything_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def never(*_: object) -> None:
        raise AssertionError("computed for nothing")

    monkeypatch.setattr(credibility, "run_checks", never)
    file = tmp_path / "file"
    file.write_text("here first")
    for folder, why in ((file, "it is a file"), (tmp_path / "no" / "where", "there is no folder")):
        assert main(["selfcheck", "--full", "--out", str(folder)]) == 1
        assert why in capsys.readouterr().err
    (tmp_path / "taken" / "report.html").mkdir(parents=True)
    with pytest.raises(RunError, match="it is a folder"):
        prepare(tmp_path / "taken")
    assert file.read_text() == "here first"


@pytest.mark.parametrize(
    ("arguments", "why"),
    [(["--full", "damage"], "Leave the names out"), (["--out", "x"], "Add --full")],
)
def test_arguments_that_exclude_one_another_are_refused(
    arguments: list[str], why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["selfcheck", *arguments]) == InputError.exit_code
    assert why in capsys.readouterr().err
