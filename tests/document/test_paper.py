"""Text is broken where it must be, tables fill their width, and what is measured is what is written."""

from __future__ import annotations

from itertools import pairwise

import pytest
from numpy.testing import assert_allclose

from spotdwell.document.model import (
    Beside,
    Cell,
    Column,
    Document,
    Drawing,
    Picture,
    Points,
    Row,
    Section,
    Table,
    Text,
    table,
)
from spotdwell.document.paper import END, HEIGHT, LEADING, MARGIN, ROOM, WIDTH, fits, pages
from spotdwell.document.paper_table import _widths
from spotdwell.output.pictures.canvas import Canvas, blank, width_of, wrapped

MANY = "words of a line that is longer than the page is wide, as it stands in a note or in a source, "


def texts_of(figure):
    return [text for axes in figure.axes for text in axes.texts]


def document(*blocks, **others) -> Document:
    return Document("Title", (blocks,), **others)


def test_lines_fit_and_lose_no_word():
    text = "heat carried off by steam and pyrolysis gas, and what is lost to the surroundings"
    lines = wrapped(text, 30.0, 7.0, first=12.0)
    assert " ".join(lines) == text and len(lines) > 2
    assert max(width_of(line, 7.0) for line in lines) <= 30.0
    assert width_of(lines[0], 7.0) <= 18.0


def test_a_word_that_is_too_long_is_broken_inside():
    lines = wrapped("see /a/very/long/path/without/any/space/in/it.toml here", 20.0, 7.0)
    assert max(width_of(line, 7.0) for line in lines) <= 20.0
    assert "".join(lines).replace(" ", "") == "see/a/very/long/path/without/any/space/in/it.tomlhere"


def test_an_empty_text_is_one_empty_line():
    assert wrapped("", 25.0, 7.0) == [""]


def test_width_is_that_of_the_drawn_text():
    page = blank(100.0, 100.0)
    Canvas(page).text(5.0, 50.0, "coagulated layer", 20.0)
    (text,) = texts_of(page)
    drawn = 25.4 * text.get_window_extent().width / page.dpi
    # The screen's letters are fitted to pixels, of which one is 1/100 in.
    assert_allclose(width_of("coagulated layer", 20.0), drawn, rtol=0.02, atol=0.0)


def test_paragraphs_follow_one_another_by_lines():
    page = pages(document(Text("one"), Text("two")))[0]
    heights = {text.get_text(): text.get_position()[1] for text in texts_of(page)}
    # A line of 9 pt and the room after a paragraph, 0.12 of its type.
    assert_allclose(heights["two"] - heights["one"], 9.0 * (LEADING + 0.12) * 25.4 / 72.0, rtol=1e-9)


def test_a_full_page_goes_on_and_keeps_headings_with_their_text():
    blocks = [Section(f"Heading {n}", (Text(f"text {n} " + MANY * 8),)) for n in range(30)]
    made = pages(document(*blocks))
    assert len(made) > 1
    found = [[text.get_text() for text in texts_of(page)] for page in made]
    for n in range(30):
        (where,) = [at for at, page in enumerate(found) if f"Heading {n}" in page]
        assert any(line.startswith(f"text {n} ") for line in found[where])
    assert f"page 2 of {len(made)}" in found[1]


def test_a_table_that_goes_on_repeats_its_heads():
    rows = [(f"row {n}", MANY * 3) for n in range(60)]
    made = pages(document(table(("name", "source"), rows)))
    assert len(made) > 1
    for page in made:
        assert "source" in {text.get_text() for text in texts_of(page)}
    shown = [text.get_text() for page in made for text in texts_of(page)]
    assert [one for one in shown if one.startswith("row ")] == [name for name, _ in rows]


@pytest.mark.parametrize("count", [3, 40])
def test_nothing_is_written_beyond_the_page(count):
    points = Points(tuple(f"{n} {MANY}" for n in range(count)))
    side = Beside((points,), (table(("a", "b"), [(MANY, MANY)] * count),), 0.6)
    for page in pages(document(Text(MANY * 3, strong=True), side, points, foot="foot")):
        for text in texts_of(page):
            box = text.get_window_extent().transformed(page.axes[0].transData.inverted())
            # The screen's letters are fitted to pixels, which makes lines up to 1 % wider.
            assert box.x0 >= MARGIN - 0.5 and box.x1 <= WIDTH - MARGIN + 2.0, text.get_text()
            last = HEIGHT - 4.0 if text.get_text().startswith(("foot", "page")) else END
            assert max(box.y0, box.y1) <= last, text.get_text()


def test_a_picture_takes_the_room_that_is_left_between_its_bounds():
    drawing = Drawing(180.0, 66.0, lambda figure, place: Canvas(figure, place).text(1.0, 1.0, "here", 8.0))

    def height(lines: int) -> float:
        page = pages(document(Picture(drawing, least=45.0), Points(("line",) * lines)))[0]
        (axes,) = [axes for axes in page.axes if any(text.get_text() == "here" for text in axes.texts)]
        return float(axes.get_position().height * HEIGHT)

    found = [height(lines) for lines in (1, 46, 53, 70)]
    assert_allclose((found[0], found[-1]), (87.0, 45.0), rtol=1e-9)
    assert all(before > after for before, after in pairwise(found[:-1]))
    assert fits(document(Picture(drawing, least=45.0), Points(("line",) * 50)))
    assert not fits(document(Picture(drawing, least=45.0), Points(("line",) * 90)))


def test_columns_fill_the_width_and_numbers_are_not_broken():
    found = table(("name", "value", "source"), [("short", "0.0637 to 0.114", MANY * 4)] * 3, (1,))
    widths = _widths(found, ROOM, 7.4)
    assert_allclose(sum(widths), ROOM, rtol=1e-9)
    assert widths[1] >= width_of("0.0637 to 0.114", 7.4)
    assert widths[2] > 3.0 * widths[0]
    assert all(width >= width_of("short", 7.4) for width in widths)


def test_a_word_too_long_for_its_cell_is_made_smaller_to_a_limit():
    row = Row((Cell("coagulated"), Cell("x")))
    narrow = Table(
        (Column("a", "center", 18.0), Column("b", "center", 170.0)), (row,), height=5.0, framed=True
    )
    (text,) = [text for text in texts_of(pages(document(narrow))[0]) if text.get_text() == "coagulated"]
    assert 0.8 * 9.0 <= text.get_fontsize() < 9.0
    drawn = text.get_window_extent().width / text.figure.dpi * 25.4
    assert drawn <= 18.0
