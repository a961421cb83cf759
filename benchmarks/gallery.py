"""Make pictures, pages and reports of shipped scenarios: python benchmarks/gallery.py [FOLDER] [--anew].

What is newer than its scenario, the materials and the code is kept; look at index.html in the folder.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from spotdwell import class_page, library, map_shots, report, run, shot
from spotdwell.base.errors import SpotdwellError
from spotdwell.base.units import display
from spotdwell.document.model import Document, Files, Section, Text
from spotdwell.document.printed import write_html
from spotdwell.films.shown import draw_film, with_moments
from spotdwell.inputs.read import shipped_scenario
from spotdwell.maps.picture import draw_map
from spotdwell.measure.verdict import Verdict
from spotdwell.output.pictures.plots import cross_section, history, top_view
from spotdwell.output.pictures.style import CAUTION
from spotdwell.regimes.picture import Panel, draw_row

SCENARIOS = library.Shelf.SCENARIOS
FILMED, FRAMES = "spot", 32
"""Scenario of the film, and frames of its exposure."""
_SCENE = (
    ("section.png", "section"),
    ("section.svg", "section as svg"),
    ("above.png", "from above"),
    ("history.png", "history"),
    ("report.html", "report"),
    ("report.pdf", "report as pdf"),
)
_ROW_SPOTS = ("1 mm", "1.6 mm", "2.8 mm")
_MAPPED = {"material": "soft_tissue", "dwell": "50 ms"}
_OVER = ("power: 5 W to 40 W, 8", "spot: 0.4 mm to 2.4 mm, 6")


@dataclass(frozen=True)
class Part:
    """Files of the gallery that are made together."""

    title: str
    about: str
    files: tuple[tuple[str, str], ...]
    """Name and words of each."""
    sources: tuple[Path, ...]
    """Files, besides the package's own, that what is made depends on."""
    make: Callable[[Path], None]
    """Makes the files in a folder; raises SpotdwellError."""

    def is_made(self, folder: Path) -> bool:
        """Whether all its files are in `folder`, newer than its sources and the package."""
        files = [folder / name for name, _ in self.files]
        if not all(file.is_file() for file in files):
            return False
        return min(file.stat().st_mtime for file in files) > newest([*self.sources, *package_files()])


def parts() -> list[Part]:
    """All parts: a scene of each shipped scenario, a film, a row and a map with its page."""
    return [*map(_scene, library.names(SCENARIOS)), _film(), _row(), _map()]


def index_of(made: Sequence[Part], folder: Path) -> Document:
    """The page that shows and links the files that are in `folder`."""
    sections = [_section(part, folder) for part in made]
    return Document("Gallery of spotdwell", ((Text(CAUTION, strong=True), *sections),))


def _section(part: Part, folder: Path) -> Section:
    files = tuple((name, words) for name, words in part.files if (folder / name).is_file())
    about = [Text(part.about)] if part.about else []
    return Section(part.title, (*about, Files(files) if files else Text("Not made yet.")))


def main(arguments: Sequence[str] | None = None) -> int:
    """Make what is missing or old, then the index; 1 if a part failed, which costs no other."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=Path("gallery"))
    parser.add_argument("--anew", action="store_true", help="make also what is up to date")
    asked = parser.parse_args(arguments)
    asked.folder.mkdir(exist_ok=True)
    made, failed = parts(), False
    for number, part in enumerate(made, 1):
        current = not asked.anew and part.is_made(asked.folder)
        print(f"[{number}/{len(made)}] {part.title}{': up to date' if current else ' ...'}", flush=True)
        try:
            if not current:
                part.make(asked.folder)
        except SpotdwellError as error:
            failed = True
            print(f"Error: {error}", file=sys.stderr)
    write_html(index_of(made, asked.folder), asked.folder / "index.html")
    return int(failed)


def newest(files: Sequence[Path]) -> float:
    """When the newest of `files` was changed [s]."""
    return max(file.stat().st_mtime for file in files)


def package_files() -> list[Path]:
    """The package's code and the shipped materials."""
    materials = library.folder(library.Shelf.MATERIALS)
    code = Path(library.__file__).parent.rglob("*.py")
    return [*code, *materials.rglob(f"*{library.SUFFIX}")]


def _scene(name: str) -> Part:
    scenario = shipped_scenario(name)
    files = tuple((f"{name}_{end}", words) for end, words in _SCENE)
    return Part(scenario.title or name, scenario.about, files, (_path(name),), partial(_make_scene, name))


def _make_scene(name: str, folder: Path) -> None:
    result = run(shipped_scenario(name))
    html, pdf = (folder / f"{name}_report.{kind}" for kind in ("html", "pdf"))
    cross_section(result, folder / f"{name}_section.png")
    cross_section(result, folder / f"{name}_section.svg")
    top_view(result, folder / f"{name}_above.png")
    history(result, folder / f"{name}_history.png")
    report(result, html, pdf)


def _film() -> Part:
    file = f"{FILMED}_film.gif"
    about = f"The scenario {FILMED} from the first light until all is cool."
    return Part(
        "A film", about, ((file, "film"),), (_path(FILMED),), lambda folder: _make_film(folder / file)
    )


def _make_film(path: Path) -> None:
    draw_film(run(with_moments(shipped_scenario(FILMED), FRAMES)), path, quiet=True)


def _row() -> Part:
    about = "25 W for 80 ms in soft tissue: the same energy in ever larger spots."
    return Part("A row of shots", about, (("row.png", "row"), ("row.svg", "row as svg")), (), _make_row)


def _make_row(folder: Path) -> None:
    panels = [_panel(spot) for spot in _ROW_SPOTS]
    for file in ("row.png", "row.svg"):
        draw_row(panels, folder / file, "The same energy in three spots", "25 W for 80 ms in soft tissue.")


def _panel(spot: str) -> Panel:
    result = shot("soft_tissue", power="25 W", spot=spot, dwell="80 ms")
    return Panel(result, (spot,), _findings(result.verdict, result.measures))


def _findings(verdict: Verdict, measures: dict[str, float | None]) -> tuple[str, ...]:
    depth = measures["crater_depth"] or 0.0
    char = measures["char_thickness_floor"]
    left = () if char is None else (f"char at the floor {display(char, 'm', 'um')}",)
    return (str(verdict.word), f"depth {display(depth, 'm', 'um')}", *left)


def _map() -> Part:
    about = "50 ms in soft tissue over power and spot, and the page on which a class turns these knobs."
    return Part("A map", about, (("map.png", "map"), ("map_page.html", "class page")), (), _make_map)


def _make_map(folder: Path) -> None:
    cube = map_shots(_MAPPED, *_OVER)
    draw_map(cube, folder / "map.png")
    class_page(cube, folder / "map_page.html")


def _path(name: str) -> Path:
    return library.find(SCENARIOS, name)


if __name__ == "__main__":
    sys.exit(main())
