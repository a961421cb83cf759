"""Gallery: the parts from which the pictures, pages and reports of all shipped scenarios are made again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from spotdwell import library
from spotdwell.base.units import display
from spotdwell.inputs.read import shipped_scenario
from spotdwell.library import Shelf as Folder
from spotdwell.measure.verdict import Verdict
from spotdwell.output.maps.plots import draw_map
from spotdwell.output.pictures.plots import cross_section, history, top_view
from spotdwell.output.pictures.row import Panel, draw_row
from spotdwell.output.reports.gallery_index import Item, Shelf
from spotdwell.pipeline import run, shot
from spotdwell.study.maps.request import map_shots
from spotdwell.study.reports.run_report import report

if TYPE_CHECKING:
    from spotdwell.inputs.schema import Scenario

FILMED = "spot"
"""Scenario of the film."""
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
    """Files of a gallery that are made together."""

    shelf: Shelf
    sources: tuple[Path, ...]
    """Files, besides the package's own, that what is made depends on."""
    make: Callable[[Path], None]
    """Makes the files in a folder; raises SpotdwellError."""

    def is_made(self, folder: Path) -> bool:
        """Whether all its files are in `folder`, newer than its sources and the package."""
        files = [folder / item.file for item in self.shelf.items]
        if not all(file.is_file() for file in files):
            return False
        return min(file.stat().st_mtime for file in files) > newest([*self.sources, *package_files()])


def parts(film: Callable[[Scenario, Path], None]) -> list[Part]:
    """All parts: a scene of each shipped scenario, a film by `film`, a row and a map with its page."""
    scenes = [_scene(name) for name in library.names(Folder.SCENARIOS)]
    return [*scenes, _film(film), _row(), _map()]


def newest(files: Sequence[Path]) -> float:
    """When the newest of `files` was changed [s]."""
    return max(file.stat().st_mtime for file in files)


def package_files() -> list[Path]:
    """The package's code and the shipped materials."""
    materials = library.folder(Folder.MATERIALS)
    code = Path(library.__file__).parent.rglob("*.py")
    return [*code, *materials.rglob(f"*{library.SUFFIX}")]


def _scene(name: str) -> Part:
    scenario = shipped_scenario(name)
    items = tuple(Item(f"{name}_{end}", words) for end, words in _SCENE)
    shelf = Shelf(scenario.title or name, scenario.about, items)
    return Part(shelf, (_path(name),), partial(_make_scene, name))


def _make_scene(name: str, folder: Path) -> None:
    result = run(shipped_scenario(name))
    html, pdf = (folder / f"{name}_report.{kind}" for kind in ("html", "pdf"))
    cross_section(result, folder / f"{name}_section.png")
    cross_section(result, folder / f"{name}_section.svg")
    top_view(result, folder / f"{name}_above.png")
    history(result, folder / f"{name}_history.png")
    report(result, html, pdf)


def _film(film: Callable[[Scenario, Path], None]) -> Part:
    file = f"{FILMED}_film.gif"
    shelf = Shelf(
        "A film", f"The scenario {FILMED} from the first light until all is cool.", (Item(file, "film"),)
    )
    return Part(shelf, (_path(FILMED),), lambda folder: film(shipped_scenario(FILMED), folder / file))


def _row() -> Part:
    about = "25 W for 80 ms in soft tissue: the same energy in ever larger spots."
    items = Item("row.png", "row"), Item("row.svg", "row as svg")
    return Part(Shelf("A row of shots", about, items), (), _make_row)


def _make_row(folder: Path) -> None:
    panels = [_panel(spot) for spot in _ROW_SPOTS]
    title = "The same energy in three spots"
    note = "25 W for 80 ms in soft tissue."
    for file in ("row.png", "row.svg"):
        draw_row(panels, folder / file, title, note)


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
    items = Item("map.png", "map"), Item("map_page.html", "class page")
    return Part(Shelf("A map", about, items), (), _make_map)


def _make_map(folder: Path) -> None:
    from spotdwell.output.pages.page import class_page

    cube = map_shots(_MAPPED, *_OVER)
    draw_map(cube, folder / "map.png")
    class_page(cube, folder / "map_page.html")


def _path(name: str) -> Path:
    return library.find(Folder.SCENARIOS, name)
