"""The report of a run says all that it should, in both forms, and fetches nothing."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell import report
from spotdwell.base.errors import RunError
from spotdwell.base.names import MEASURES
from spotdwell.document.model import Section, Table, blocks_in
from spotdwell.document.paper import END, HEIGHT, MARGIN, WIDTH, pages
from spotdwell.measure.verdict import Limits, Verdict, Word
from spotdwell.reports.document import document_of
from spotdwell.reports.drawings import TYPE, energy_lines
from spotdwell.spread.run import Sample, Uncertainty

VOID = {"meta", "br", "img", "col"}
ODD_MATERIAL = """
[density]
value = "1090 kg/m3"
range = ["1066 kg/m3", "1105 kg/m3"]
basis = "derived"
source = "Takata et al. 1977, c_w"
"""
"""Of no version: its text is shown as it stands."""


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


def sampled(result, count=64, failed=1) -> Uncertainty:
    """Samples around the measures: a tenth at half, the rest at twice of each."""
    tenth = count // 10
    factors = [0.5] * tenth + [2.0] * (count - failed - tenth)
    samples = [
        Sample({name: None if value is None else factor * value for name, value in result.measures.items()},
               "charred" if factor == 0.5 else "clean")
        for factor in factors
    ]  # fmt: skip
    samples += [Sample(failure="broke")] * failed
    return Uncertainty((), np.ones((count, 0)), result.measures, tuple(samples), 0)


def with_material(result, **others):
    return replace(result, materials={"odd": ODD_MATERIAL}, **others)


def section(document, title: str) -> Section:
    (found,) = [one for one in blocks_in(document) if isinstance(one, Section) and one.title == title]
    return found


def rows_of(document, title: str) -> list[list[str]]:
    """Texts of every table under a heading, row by row."""
    tables = [block for block in section(document, title).blocks if isinstance(block, Table)]
    return [[cell.text for cell in row.cells] for one in tables for row in one.rows]


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
    """The document of a report and the words of its HTML."""

    def written(study=None, **others):
        result = with_material(make(), **others)
        report(result, tmp_path / "run.html", uncertainty=study and study(result))
        return result, text_of(tmp_path / "run.html")

    return written


def test_every_measure_is_shown_with_its_value_and_unit(make, page):
    _, words = page()
    rows = rows_of(document_of(make()), "Measures")
    layers = [row for row in rows if row[0] in ("charred", "dried", "coagulated")]
    assert len(rows) - len(layers) + 3 * len(layers) == len(MEASURES)
    for row in rows:
        assert " ".join(filter(None, row)) in words
    assert "thickness [µm]" in words


def test_values_are_those_of_the_result_in_display_units(make):
    result = make()
    rows = {row[0]: row[1:] for row in rows_of(document_of(result), "Measures")}
    value, unit = rows[MEASURES["crater_depth"].meaning]
    # Three digits are shown.
    assert_allclose(float(value), 1e6 * result.measures["crater_depth"], rtol=5e-3, atol=0.0)
    assert unit == "µm"
    charred = float(rows["charred"][0])
    assert_allclose(charred, 1e6 * result.measures["char_thickness_floor"], rtol=5e-3, atol=0.0)


def test_a_measure_that_does_not_apply_is_a_dash(make):
    rows = {row[0]: row[1:] for row in rows_of(document_of(make()), "Measures")}
    assert rows[MEASURES["perforation_time"].meaning] == ["–", "ms"]


def test_without_samples_the_page_says_that_there_are_no_intervals(page):
    _, words = page()
    assert "No intervals were computed" in words
    assert "5 % to 95 %" not in words


def test_intervals_stand_beside_their_measures(make, page):
    _, words = page(sampled)
    assert "5 % to 95 %" in words and "No intervals" not in words
    assert "Verdicts of 64 runs with sampled material values: clean 57, charred 6." in words
    assert "1 samples failed" in words
    document = document_of(make(), sampled(make()))
    rows = {row[0]: row[1:] for row in rows_of(document, "Measures")}
    assert rows[MEASURES["incident_energy"].meaning] == ["2.00", "J", "1.00 to 4.00"]
    layers = [block for block in section(document, "Measures").blocks if isinstance(block, Table)][1]
    assert re.fullmatch(r"\S+ to \S+", layers.rows[0].cells[1].small)


def test_energy_terms_sum_to_the_energy_sent(make):
    result = make()
    lines = energy_lines(result)
    # Round-off of adding some ten terms.
    assert_allclose(sum(line.energy for line in lines), result.ledger["incident"], rtol=1e-12, atol=0.0)
    assert_allclose(sum(line.share for line in lines), 1.0, rtol=1e-12, atol=0.0)
    *terms, total = rows_of(document_of(result), "Where the energy went")
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
    energies = section(document_of(result), "Where the energy went")
    assert "Terms below 0" in energies.blocks[0].caption


def test_verdict_stands_with_reasons_and_limits(page):
    result, words = page()
    assert f"Verdict: {result.verdict.word}" in words
    for reason in result.verdict.reasons:
        assert reason.replace(" um", " µm") in words
    assert "char 52 µm at floor and wall; depth 1 mm; depth over width 2." in words


def test_setting_assumptions_notes_safety_and_versions_are_there(page):
    _, words = page(notes=("steam always leaks", "cells are 1 um high, for a reason"))
    for text in (
        "25 W",
        "1.6 mm (1/e²)",
        "Water in tissue is superheated",
        "Left out: flow of the film and of steam",
        "Notes of this run",
        "Steam always leaks.",
        "Cells are 1 µm high, for a reason.",
        "Eyes: protection for the wavelength",
        "Lasers burn and blind.",
        "spotdwell 0.1.0",
    ):
        assert text in words


def test_sources_stand_with_value_range_and_basis(page):
    _, words = page()
    assert "density 1090 kg/m³, derived, 1066 to 1105 kg/m³ Takata et al. 1977, c_w" in words


def test_page_holds_its_pictures_and_fetches_nothing(make, tmp_path):
    report(make(), tmp_path / "run.html")
    text = (tmp_path / "run.html").read_text(encoding="utf-8")
    assert read(tmp_path / "run.html").tags.count("svg") == 2
    assert re.search(r"https?:|src=|@import|url\((?!#)|<link|<script", text) is None
    names = re.findall(r'\sid="([^"]*)"', text)
    assert all(f"#{name}" in text for name in names)


def test_pdf_has_a_page_and_one_of_sources_and_is_the_same_every_time(make, tmp_path):
    for name in ("a.pdf", "b.pdf"):
        report(with_material(make()), pdf=tmp_path / name)
    data = (tmp_path / "a.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    assert len(re.findall(rb"/Type /Page\b", data)) == 2
    assert data == (tmp_path / "b.pdf").read_bytes()


@pytest.mark.parametrize("study", [None, sampled])
@pytest.mark.parametrize("crowded", [False, True])
def test_nothing_is_written_beyond_the_page_and_type_stays_legible(make, study, crowded):
    result = make(film=True)
    notes = tuple(f"caution {n} " + "with many words " * 9 for n in range(20 if crowded else 1))
    full = replace(result, notes=notes)
    found = pages(document_of(full, study and study(result)))
    for page in found:
        for text in page.axes[0].texts:
            box = text.get_window_extent().transformed(page.axes[0].transData.inverted())
            # The screen's letters are fitted to pixels, which makes lines up to 1 % wider.
            assert box.x0 >= MARGIN - 0.5 and box.x1 <= WIDTH - MARGIN + 2.0, text.get_text()
            assert max(box.y0, box.y1) <= (HEIGHT - 4.0 if text.get_text().startswith("page") else END)
            assert text.get_fontsize() >= 0.8 * TYPE
    said = [text.get_text() for page in found for axes in page.axes[:1] for text in axes.texts]
    assert sum(line.startswith("Caution ") for line in said) == len(notes)


def test_a_crowded_first_page_keeps_a_legible_picture(make):
    full = replace(make(), notes=tuple("caution " * 30 for _ in range(12)))
    free, crowded = (pages(document_of(one))[0] for one in (make(), full))
    highest = [max(axes.get_position().height for axes in page.axes[1:]) for page in (free, crowded)]
    # Of 45 mm at least, axes and key take a third.
    assert highest[0] > highest[1] > 20.0 / HEIGHT


@pytest.mark.parametrize("kind", ["html", "pdf"])
def test_a_folder_that_is_not_there_is_an_error_with_its_name(make, tmp_path, kind):
    with pytest.raises(RunError, match="there is no folder"):
        report(make(), **{kind: tmp_path / "absent" / "run.out"})


def test_a_verdict_without_a_depth_limit_says_so(make, tmp_path):
    plain = replace(make(), verdict=Verdict(Word.UNMARKED, ("Nothing happened.",), Limits()))
    report(plain, tmp_path / "run.html")
    assert "any depth" in text_of(tmp_path / "run.html")


def test_a_title_and_a_laser_s_file_are_no_formula(make):
    setting = {"title": "Costs $5 and $x_1$", "laser": "my_$laser.toml, dial 2"}
    (first, *_) = pages(document_of(replace(make(), setting=setting)))
    said = [text.get_text() for text in first.axes[0].texts]
    assert "Costs $5 and $x 1$" in said and "my_$laser.toml, dial 2" in said
    assert not any(text.get_parse_math() for text in first.axes[0].texts)
