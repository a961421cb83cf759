"""Text is broken where it must be, and a column measures what it would write."""

from __future__ import annotations

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numpy.testing import assert_allclose

from spotdwell.output.reports.text_column import LEADING, Field, TextColumn, width_of, wrapped


def page_of():
    page = Figure(figsize=(4.0, 6.0))
    FigureCanvasAgg(page)
    return page


def test_lines_fit_and_lose_no_word():
    text = "heat carried off by steam and pyrolysis gas, and what is lost to the surroundings"
    lines = wrapped(text, 1.2, 7.0)
    assert " ".join(lines) == text and len(lines) > 2
    assert max(width_of(line, 7.0) for line in lines) <= 1.2


def test_a_word_that_is_too_long_is_broken_inside():
    lines = wrapped("see /a/very/long/path/without/any/space/in/it.toml here", 0.8, 7.0)
    assert max(width_of(line, 7.0) for line in lines) <= 0.8
    assert "".join(lines).replace(" ", "") == "see/a/very/long/path/without/any/space/in/it.tomlhere"


def test_an_empty_text_is_one_empty_line():
    assert wrapped("", 1.0, 7.0) == [""]


def test_width_is_that_of_the_drawn_text():
    page = page_of()
    text = page.text(0.1, 0.5, "coagulated layer", fontsize=20.0)
    # The screen's letters are fitted to pixels, of which one is 1/100 in.
    drawn = text.get_window_extent().width / page.dpi
    assert_allclose(width_of("coagulated layer", 20.0), drawn, rtol=0.02, atol=0.0)


def test_what_is_measured_is_what_is_written():
    fields = [Field("property", 1.0), Field("value", 1.0, "right")]
    ends = []
    for page in (None, page_of()):
        column = TextColumn(page, 0.5, 0.5, 2.0, 8.0)
        column.heading("A heading")
        column.points(["one point of many words that go over the line", "two"])
        column.table_head(fields)
        column.table_row(fields, ["a property with a long name", "1\n2\n3"])
        ends.append(column.at)
    assert ends[0] == ends[1]
    assert len(page.texts) > 8


def test_a_paragraph_takes_a_line_height_for_each_line():
    column = TextColumn(None, 0.0, 1.0, 3.0, 10.0)
    column.write("short")
    assert_allclose(column.at, 1.0 + 10.0 * LEADING / 72.0, rtol=1e-12, atol=0.0)


def test_signs_of_formulas_are_written_as_they_are():
    page = page_of()
    TextColumn(page, 0.0, 1.0, 3.0, 10.0).write("costs $5 and $x_1$")
    assert [text.get_parse_math() for text in page.texts] == [False]
