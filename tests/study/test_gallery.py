"""The gallery holds every shipped scenario, and makes only what is missing or old."""

from __future__ import annotations

import os

from spotdwell import library
from spotdwell.output.reports.gallery_index import Item, Shelf
from spotdwell.study.reports.gallery import Part, newest, package_files, parts


def part_of(tmp_path, made):
    source = tmp_path / "scenario.toml"
    source.touch()
    shelf = Shelf("A", "", (Item("a.png", "a"), Item("b.png", "b")))
    return Part(shelf, (source,), made.append), source


def test_every_shipped_scenario_has_pictures_and_reports():
    files = {item.file for part in parts(lambda *_: None) for item in part.shelf.items}
    for name in library.names(library.Shelf.SCENARIOS):
        for end in ("section.png", "section.svg", "above.png", "history.png", "report.html", "report.pdf"):
            assert f"{name}_{end}" in files
    assert {"spot_film.gif", "row.png", "map.png", "map_page.html"} <= files
    assert not any("verification" in file for file in files)


def test_no_two_parts_write_the_same_file():
    files = [item.file for part in parts(lambda *_: None) for item in part.shelf.items]
    assert len(files) == len(set(files))


def test_a_part_is_made_once_all_files_are_newer_than_sources_and_code(tmp_path):
    part, source = part_of(tmp_path, [])
    later = max(newest(package_files()), source.stat().st_mtime) + 60.0
    assert not part.is_made(tmp_path)
    for name in ("a.png", "b.png"):
        (tmp_path / name).touch()
        os.utime(tmp_path / name, (later, later))
    assert part.is_made(tmp_path)
    os.utime(source, (later + 1.0, later + 1.0))
    assert not part.is_made(tmp_path)


def test_a_part_with_a_missing_or_old_file_is_not_made(tmp_path):
    part, _ = part_of(tmp_path, [])
    for name in ("a.png", "b.png"):
        (tmp_path / name).touch()
        os.utime(tmp_path / name, (1.0, 1.0))
    assert not part.is_made(tmp_path)
    (tmp_path / "a.png").unlink()
    assert not part.is_made(tmp_path)
