"""The report of a run says all that it should, in both forms, and fetches nothing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import RunError
from spotdwell.base.names import MEASURES
from spotdwell.measure.verdict import Limits, Verdict, Word
from spotdwell.output.reports.report_sheet import SMALL
from spotdwell.output.reports.run_report import Interval, Intervals, MaterialValue, MaterialValues, RunReport
from spotdwell.output.reports.run_report_html import write_html
from spotdwell.output.reports.run_report_pdf import _MOVED, _FirstPage, _pages, write_pdf
from spotdwell.output.reports.run_report_rows import (
    energy_cells,
    energy_lines,
    layer_cells,
    measure_lines,
    quantity_text,
    unit_text,
)

VOID = {"meta", "br", "img"}
VALUE = MaterialValue("density", "1090 kg/m3", "1066 to 1105 kg/m3", "derived", "Takata et al. 1977, c_w")
SOURCES = tuple(
    MaterialValue(f"property {n}", "1 m2", "", "assumed", f"source {n} " + "of words " * 40)
    for n in range(30)
)


class Reader(HTMLParser):
    """Text of a page, and whether every tag is closed by its own."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words: list[str] = []
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.append(tag)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words.append(data)


def report_of(result, intervals=None, materials=None, reasons=2, cautions=()):
    return RunReport(
        result=result,
        about="A shot made by hand",
        grid_reasons=tuple(f"cells are {n} um high, for a reason" for n in range(reasons)),
        cautions=cautions,
        assumptions=("Light runs straight down.", "Water boils."),
        danger="Lasers burn and blind.",
        safety=("Eyes: protect them.", "Smoke: extract it."),
        materials=materials or (MaterialValues("Soft tissue", (VALUE,)),),
        intervals=intervals,
    )


def intervals_of(measures: Mapping[str, float | None]) -> Intervals:
    spans = {
        name: Interval(None if value is None else 0.5 * value, None if value is None else 2.0 * value)
        for name, value in measures.items()
    }
    return Intervals(64, 1, {"clean": 60, "charred": 3}, spans)


def read(path):
    reader = Reader()
    reader.feed(path.read_text(encoding="utf-8"))
    reader.close()
    assert reader.open == []
    return reader


def text_of(path):
    return " ".join(" ".join(read(path).words).split())


@pytest.fixture
def page(make, tmp_path):
    """The words of the HTML of a report."""

    def written(**options):
        report = report_of(make(), **options)
        write_html(report, tmp_path / "run.html")
        return report, text_of(tmp_path / "run.html")

    return written


def test_every_measure_is_shown_with_its_value_and_unit(page):
    report, words = page()
    found = {line.meaning: line for line in measure_lines(report)}
    layers = {name for name in MEASURES if "_thickness_" in name}
    assert len(found) + 3 * len(layer_cells(report)) == len(MEASURES) == len(found) + len(layers)
    for line in found.values():
        assert f"{line.meaning} {line.value} {line.unit}".strip() in words
    assert "thickness [µm]" in words
    for row in layer_cells(report):
        assert " ".join(row) in words


def test_values_are_those_of_the_result_in_display_units(make):
    report = report_of(make())
    depth = 1e6 * report.result.measures["crater_depth"]
    shown = next(line for line in measure_lines(report) if "beam's axis" in line.meaning)
    # Three digits are shown.
    assert_allclose(float(shown.value), depth, rtol=5e-3, atol=0.0)
    assert shown.unit == "µm"
    charred = float({row[0]: row[1] for row in layer_cells(report)}["charred"])
    assert_allclose(charred, 1e6 * report.result.measures["char_thickness_floor"], rtol=5e-3, atol=0.0)


def test_a_measure_that_does_not_apply_is_a_dash(make):
    perforation = next(line for line in measure_lines(report_of(make())) if "through" in line.meaning)
    assert (perforation.value, perforation.unit) == ("–", "ms")


def test_without_samples_the_page_says_that_there_are_no_intervals(page):
    _, words = page()
    assert "No intervals were computed" in words
    assert "5 % to 95 %" not in words


def test_intervals_stand_beside_their_measures(make, tmp_path):
    result = make()
    report = report_of(result, intervals_of(result.measures))
    write_html(report, tmp_path / "run.html")
    words = text_of(tmp_path / "run.html")
    assert "5 % to 95 %" in words and "No intervals" not in words
    assert "Verdicts of 64 runs with sampled material values: clean 60, charred 3." in words
    assert "1 samples failed" in words
    energy = next(line for line in measure_lines(report) if line.unit == "J")
    assert (energy.value, energy.interval) == ("2.00", "1.00 to 4.00")
    assert re.fullmatch(r"\S+ \(\S+–\S+\)", layer_cells(report)[0][1])


def test_energy_terms_sum_to_the_energy_sent(make):
    result = make()
    lines = energy_lines(result)
    # Round-off of adding some ten terms.
    assert_allclose(sum(line.energy for line in lines), result.ledger["incident"], rtol=1e-12, atol=0.0)
    assert_allclose(sum(line.share for line in lines), 1.0, rtol=1e-12, atol=0.0)
    *terms, total = energy_cells(result)
    # Each shown term is rounded to 1 mJ.
    shown = sum(float(row[2]) for row in terms)
    assert_allclose(shown, float(total[2]), rtol=0.0, atol=5e-4 * len(terms))
    assert total[3] == "100.0"


def test_energy_terms_stand_from_the_largest_and_what_is_lost_shows(make):
    result = make()
    result.ledger["latent"] -= 0.1
    result.ledger["blood"] = -0.02
    lines = energy_lines(result)
    assert [line.energy for line in lines[:-1]] == sorted((line.energy for line in lines[:-1]), reverse=True)
    assert lines[-2].number == "", "the bar has no part for a term below 0"
    # 0.1 J were taken out of the ledger, and 0.02 J too much given back.
    assert_allclose(lines[-1].energy, 0.12, rtol=1e-9, atol=0.0)


def test_verdict_stands_with_reasons_and_limits(page):
    report, words = page()
    assert f"Verdict: {report.result.verdict.word}" in words
    for reason in report.result.verdict.reasons:
        assert reason.replace(" um", " µm") in words
    assert "char 52 µm at floor and wall; depth 1 mm; depth over width 2." in words


def test_setting_assumptions_cautions_grid_safety_and_versions_are_there(page):
    _, words = page(cautions=("steam always leaks",))
    for text in (
        "25 W",
        "1.6 mm (1/e²)",
        "Water boils.",
        "Steam always leaks.",
        "Cells are 1 µm high, for a reason.",
        "Eyes: protect them.",
        "Lasers burn and blind.",
        "spotdwell 0.1.0",
    ):
        assert text in words


def test_sources_stand_with_value_range_and_basis(page):
    _, words = page()
    assert "density 1090 kg/m³ 1066 to 1105 kg/m³ derived Takata et al. 1977, c_w" in words


def test_page_holds_its_pictures_and_fetches_nothing(make, tmp_path):
    write_html(report_of(make()), tmp_path / "run.html")
    text = (tmp_path / "run.html").read_text(encoding="utf-8")
    assert read(tmp_path / "run.html").tags.count("svg") == 2
    assert re.search(r"https?:|src=|@import|url\((?!#)|<link|<script", text) is None
    names = re.findall(r'\sid="([^"]*)"', text)
    assert all(f"#{name}" in text for name in names)


def test_pdf_has_a_page_and_one_of_sources_and_is_the_same_every_time(make, tmp_path):
    report = report_of(make())
    for name in ("a.pdf", "b.pdf"):
        write_pdf(report, tmp_path / name)
    data = (tmp_path / "a.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    assert len(re.findall(rb"/Type /Page\b", data)) == 2
    assert data == (tmp_path / "b.pdf").read_bytes()


def test_sources_that_do_not_fit_go_on_over_the_page(make):
    materials = MaterialValues("Soft tissue", SOURCES), MaterialValues("Water", (VALUE,))
    pages = list(_pages(report_of(make(), materials=materials)))
    written = [{text.get_text() for text in page.texts} for page in pages]
    assert len(pages) == 3
    assert "Soft tissue, continued" in written[2]
    for value in SOURCES:
        assert any(value.property in texts for texts in written[1:])
    assert min(text.get_fontsize() for page in pages for text in page.texts) >= SMALL


@pytest.mark.parametrize("sampled", [False, True])
@pytest.mark.parametrize("crowded", [False, True])
def test_nothing_is_written_beyond_the_page(make, sampled, crowded):
    result = make(film=True)
    lines = tuple(f"caution {n} " + "with many words " * 9 for n in range(12 if crowded else 1))
    spans = intervals_of(result.measures) if sampled else None
    for page in _pages(report_of(result, spans, reasons=8 if crowded else 2, cautions=lines)):
        width, height = page.bbox.size
        for text in page.texts:
            box = text.get_window_extent()
            assert box.x0 >= 0.0 and box.x1 <= width and box.y0 >= 0.0 and box.y1 <= height, text.get_text()


def test_a_full_first_page_gives_its_lists_away_and_keeps_a_legible_picture(make):
    result = make()
    free = report_of(result)
    full = report_of(result, reasons=20, cautions=tuple("caution " * 30 for _ in range(5)))
    assert _FirstPage(free, ()).fits and not _FirstPage(full, ()).fits
    moved = next(one for one in _MOVED if _FirstPage(full, one).fits)
    assert "grid" in moved
    first, second, *_ = _pages(full)
    headings = [{text.get_text() for text in page.texts} for page in (first, second)]
    assert "Grid, and why" in headings[1] - headings[0]


@pytest.mark.parametrize("write", [write_html, write_pdf])
def test_a_folder_that_is_not_there_is_an_error_with_its_name(make, tmp_path, write):
    with pytest.raises(RunError, match="there is no folder"):
        write(report_of(make()), tmp_path / "absent" / "run.out")


def test_a_verdict_without_a_depth_limit_says_so(make, tmp_path):
    plain = replace(make(), verdict=Verdict(Word.UNMARKED, ("Nothing happened.",), Limits()))
    write_html(report_of(plain), tmp_path / "run.html")
    assert "any depth" in text_of(tmp_path / "run.html")


def test_units_are_set_with_their_signs():
    assert [unit_text(unit) for unit in ("um", "mm3", "J/mm2", "degC", "1")] == [
        "µm",
        "mm³",
        "J/mm²",
        "°C",
        "",
    ]
    assert quantity_text("1090 kg/m3, 8e2 J/kg/K") == "1090 kg/m³, 8e2 J/kg/K"
