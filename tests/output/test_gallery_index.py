"""The index links what is there, and nothing else."""

from __future__ import annotations

from spotdwell.output.reports.gallery_index import Item, Shelf, write_index


def test_index_shows_pictures_and_links_files_that_exist(tmp_path):
    for name in ("a.png", "a.pdf"):
        (tmp_path / name).touch()
    shelf = Shelf(
        "A <shot>", "About it", (Item("a.png", "section"), Item("a.pdf", "report"), Item("b.png", "b"))
    )
    text = write_index([shelf], tmp_path).read_text(encoding="utf-8")
    assert "A &lt;shot&gt;" in text
    assert '<img src="a.png"' in text and '<a href="a.pdf">report</a>' in text
    assert "b.png" not in text and "http" not in text
    assert "treatment decision" in text


def test_a_shelf_without_files_says_so(tmp_path):
    path = write_index([Shelf("Empty", "", (Item("x.png", "x"),))], tmp_path)
    assert "not made yet" in path.read_text(encoding="utf-8")
