"""The library: finds the shipped materials and scenarios, installed or in a checkout."""

from __future__ import annotations

import difflib
from enum import StrEnum
from functools import lru_cache
from pathlib import Path

from spotdwell.base.errors import InputError

SUFFIX = ".toml"
WATER_OPTICS = "optics/water"
"""Name, among the materials, of water's absorption and reflectance by wavelength."""


class Shelf(StrEnum):
    """What the library holds."""

    MATERIALS = "materials"
    SCENARIOS = "scenarios"

    @property
    def singular(self) -> str:
        """What one of them is called."""
        return self.value.removesuffix("s")


@lru_cache
def folder(shelf: Shelf) -> Path:
    """Folder of a shelf: inside the installed package, else at the top of the checkout."""
    package = Path(__file__).resolve().parent
    for place in (package / shelf, package.parents[1] / shelf):
        if place.is_dir():
            return place
    raise InputError(shelf, f"a folder of shipped {shelf}", "none", "Install the package again.")


@lru_cache
def names(shelf: Shelf) -> tuple[str, ...]:
    """Names of what is on a shelf, sorted; folders inside it are not listed."""
    return tuple(sorted(path.stem for path in folder(shelf).glob(f"*{SUFFIX}")))


def find(shelf: Shelf, name: str, where: str | None = None) -> Path:
    """Path of `name`, which may lie in a folder ("verification/half_space").

    Raises InputError with the nearest names where there is none; `where` is what it calls the place.
    """
    shelved = folder(shelf)
    path = shelved / f"{name.removesuffix(SUFFIX)}{SUFFIX}"
    # A name leads no farther than its shelf, by dots, links or as a whole path.
    try:
        if path.is_file() and path.resolve().is_relative_to(shelved.resolve()):
            return path
    except OSError:
        # No system takes so long a name.
        name = f"{name[:40]}..."
    advice = suggestion(name, names(shelf))
    raise InputError(where or shelf.singular, f"a shipped {shelf.singular}", f'"{name}"', advice)


def text(shelf: Shelf, name: str) -> str:
    """Text of the shipped file `name`."""
    return find(shelf, name).read_text(encoding="utf-8")


def suggestion(name: str, known: tuple[str, ...]) -> str:
    """Sentence that offers the nearest of the `known` names, or all of them."""
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.5)
    near += [other for other in known if name and name in other and other not in near][:3]
    if near:
        return f"Did you mean {' or '.join(near)}?"
    return f"Known: {', '.join(known)}." if known else ""
