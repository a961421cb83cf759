"""Both printers say what the document says, letter by letter, and the HTML fetches nothing."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from spotdwell.base.errors import RunError
from spotdwell.document.model import (
    Beside,
    Cell,
    Column,
    Document,
    Drawing,
    Files,
    Frame,
    Picture,
    Points,
    Row,
    Section,
    Table,
    Text,
    blocks_in,
    table,
)
from spotdwell.document.paper import pages, write_pdf
from spotdwell.document.printed import html, markdown, write_html, write_markdown
from spotdwell.output.pictures.canvas import Canvas
from spotdwell.output.whole_file import check_replaceable

ODD = "a_b $x_1$ <b> & 1|2 of my_laser.toml"
"""Letters that a printer could take for its own."""


def ring(figure, place):
    canvas = Canvas(figure, place)
    canvas.circle(10.0, 5.0, 4.0, facecolor="none")
    canvas.text(2.0, 5.0, ODD, 6.0)


RING = Drawing(40.0, 10.0, ring, "a ring")
PLAIN = table(("a", "b"), [(f"Group {ODD}",), (ODD, "7")], (1,), (1,))
EVERY = Document(
    f"Title {ODD}",
    (
        (
            Frame("Framed", (Text(f"In a frame {ODD}", "Eyes"),)),
            Text(f"Strong {ODD}", strong=True),
            Beside((Text(f"Left {ODD}"),), (Picture(RING, f"Caption {ODD}", file="ring.svg"),), 0.5),
            Section(f"Heading {ODD}", (Points((f"Point {ODD}",)), PLAIN)),
            Table(
                (Column("x", "center", 20.0), Column("y", "center", 20.0, 0.5)),
                (Row((Cell("main", f"second {ODD}"), Cell(drawing=RING))), Row((Cell("both", span=2),))),
                (("Over", 2),),
                9.0,
                framed=True,
            ),
        ),
        (Text("Second sheet"),),
    ),
    foot=f"Foot {ODD}",
)
SAID = ("Title", "In a frame", "Strong", "Left", "Caption", "Heading", "Point", "Group", "second", "Foot")


def words_on(figures) -> str:
    return " ".join(text.get_text() for page in figures for axes in page.axes for text in axes.texts)


def test_paper_says_every_text_as_it_is():
    figures = pages(EVERY)
    said = words_on(figures)
    assert len(figures) == 2
    for word in SAID:
        assert word in said
    assert said.count(ODD) >= 8
    assert not any(text.get_parse_math() for page in figures for axes in page.axes for text in axes.texts)


def test_html_says_every_text_as_it_is_and_fetches_nothing():
    page = html(EVERY)
    escaped = "a_b $x_1$ &lt;b&gt; &amp; 1|2 of my_laser.toml"
    for word in SAID:
        assert word in page
    assert page.count(escaped) >= len(SAID)
    assert "<b> &" not in page
    assert re.search(r"https?:|src=|@import|url\((?!#)|<link|<script", page) is None
    assert page.count("<svg") == 2 and 'aria-label="a ring"' in page
    names = re.findall(r'\sid="([^"]*)"', page)
    assert all(f"#{name}" in page for name in names)


def test_markdown_says_every_text_and_keeps_columns_apart():
    page = markdown(EVERY)
    for word in SAID:
        assert word in page
    assert "![Caption " in page and "(ring.svg)" in page
    rows = [line for line in page.splitlines() if line.startswith("| ") and ODD.replace("|", "\\|") in line]
    # Not escaped, the sign inside a text would begin a column.
    assert {len(re.findall(r"(?<!\\)\|", row)) for row in rows} == {3}


def test_a_printer_that_drops_a_block_is_noticed():
    bare = replace(EVERY, sheets=((EVERY.sheets[0][0],), EVERY.sheets[1]))
    assert "Heading" not in html(bare) and "Heading" not in words_on(pages(bare))


def test_every_block_is_found_however_deep():
    kinds = {type(block) for block in blocks_in(EVERY)}
    assert kinds == {Frame, Text, Beside, Picture, Section, Points, Table}


def test_files_are_shown_and_linked():
    page = html(Document("Files", ((Files((("a b.png", "section"), ("a.pdf", "report"))),),)))
    assert '<img src="a b.png"' in page and '<a href="a.pdf">report</a>' in page
    assert '<img src="a.pdf"' not in page


@pytest.mark.parametrize("write", [write_html, write_pdf, write_markdown])
def test_files_are_the_same_every_time_and_a_missing_folder_is_told(tmp_path, write):
    write(EVERY, tmp_path / "one")
    write(EVERY, tmp_path / "two")
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()
    with pytest.raises(RunError, match="there is no folder"):
        write(EVERY, tmp_path / "absent" / "file")
    assert ("ring.svg" in {path.name for path in tmp_path.iterdir()}) == (write is write_markdown)


@pytest.mark.parametrize(("name", "write"), [("a.html", write_html), ("a.pdf", write_pdf)])
def test_a_document_says_whose_it_is_and_so_may_be_replaced(tmp_path, name, write):
    plain = Document("A title", ((Text("A sentence."),),))
    write(plain, tmp_path / name)
    check_replaceable(tmp_path / name)
