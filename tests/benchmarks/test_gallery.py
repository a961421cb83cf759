"""The gallery holds every shipped scenario, makes only what is missing or old, and shows what is there."""

from __future__ import annotations

import importlib.util
import os
import sys
from pathlib import Path
from types import ModuleType

import pytest

from spotdwell import library
from spotdwell.base.errors import RunError
from spotdwell.document.printed import html

FILE = Path(__file__).parents[2] / "benchmarks" / "gallery.py"


@pytest.fixture(scope="module")
def gallery() -> ModuleType:
    """The script, from the folder of benchmarks, which is no package."""
    spec = importlib.util.spec_from_file_location("gallery", FILE)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["gallery"] = module
    spec.loader.exec_module(module)
    return module


def part_of(gallery, make, number=0, sources=()):
    files = (f"{number}.png", "picture"), (f"{number}.pdf", "paper")
    return gallery.Part(f"Part <{number}>", "About it", files, sources, make)


def touching(number):
    return lambda folder: [(folder / f"{number}.{end}").touch() for end in ("png", "pdf")]


def test_every_shipped_scenario_has_pictures_and_reports(gallery):
    files = [name for part in gallery.parts() for name, _ in part.files]
    for name in library.names(library.Shelf.SCENARIOS):
        for end in ("section.png", "section.svg", "above.png", "history.png", "report.html", "report.pdf"):
            assert f"{name}_{end}" in files
    assert {"spot_film.gif", "row.png", "map.png", "map_page.html"} <= set(files)
    assert not any("verification" in file for file in files)
    assert len(files) == len(set(files)), "two parts write the same file"


def test_a_part_is_made_once_all_files_are_newer_than_sources_and_code(gallery, tmp_path):
    source = tmp_path / "scenario.toml"
    source.touch()
    part = part_of(gallery, None, sources=(source,))
    later = max(gallery.newest(gallery.package_files()), source.stat().st_mtime) + 60.0
    assert not part.is_made(tmp_path)
    touching(0)(tmp_path)
    assert not part.is_made(tmp_path) or gallery.newest(gallery.package_files()) < source.stat().st_mtime
    for name, _ in part.files:
        os.utime(tmp_path / name, (later, later))
    assert part.is_made(tmp_path)
    os.utime(source, (later + 1.0, later + 1.0))
    assert not part.is_made(tmp_path)
    (tmp_path / "0.png").unlink()
    assert not part.is_made(tmp_path)


def test_the_script_makes_its_parts_once_and_shows_them(gallery, tmp_path, monkeypatch, capsys):
    made = []
    part = part_of(gallery, lambda folder: (made.append(folder), touching(0)(folder)))
    monkeypatch.setattr(gallery, "parts", lambda: [part])
    monkeypatch.setattr(gallery, "newest", lambda files: 0.0)
    folder = tmp_path / "gallery"
    assert gallery.main([str(folder)]) == gallery.main([str(folder)]) == 0
    assert made == [folder] and "up to date" in capsys.readouterr().out
    text = (folder / "index.html").read_text(encoding="utf-8")
    assert "Part &lt;0&gt;" in text and "treatment decision" in text and "http" not in text
    assert '<img src="0.png"' in text and '<a href="0.pdf">paper</a>' in text
    assert gallery.main([str(folder), "--anew"]) == 0 and len(made) == 2


def test_a_part_that_fails_costs_no_other(gallery, tmp_path, monkeypatch, capsys):
    def fail(folder):
        raise RunError("it broke")

    both = [part_of(gallery, fail, 0), part_of(gallery, touching(1), 1)]
    monkeypatch.setattr(gallery, "parts", lambda: both)
    assert gallery.main([str(tmp_path)]) == 1
    assert "it broke" in capsys.readouterr().err
    assert (tmp_path / "1.png").is_file()
    assert "Not made yet." in html(gallery.index_of(both, tmp_path))
