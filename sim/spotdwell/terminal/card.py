"""A card of test shots on the command line: what is checked before it, progress, and what is told of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spotdwell.base.errors import InputError, RunError
from spotdwell.console.progress import Watch
from spotdwell.console.screen import SAFETY, Interrupted, mention, say, text_of
from spotdwell.output.whole_file import check_writable

if TYPE_CHECKING:
    from spotdwell.output.cards.card import Card


@dataclass(frozen=True)
class Files:
    """What is to be written."""

    pdf: Path | None = None
    html: Path | None = None
    csv: Path | None = None

    @property
    def named(self) -> dict[str, Path]:
        """Those that are wanted, by their option's name."""
        return {name: path for name, path in vars(self).items() if path is not None}

    def check(self) -> None:
        """Raise InputError for no file or a wrong suffix, RunError for one that cannot be written."""
        if not self.named:
            raise InputError("pdf", "a file for the card: --pdf, --html or --csv", "none", "Add one.")
        for name, path in self.named.items():
            if path.suffix.lower() not in (f".{name}", ".htm" if name == "html" else ""):
                advice = f"Name it {path.stem}.{name}."
                raise InputError(name, f"a file name that ends in .{name}", f'"{path}"', advice)
            check_writable(path)


def carry_out(
    material: str,
    power: str,
    dwell: str,
    options: Any,
    files: Files,
    workers: int | None,
    quiet: bool,
) -> None:
    """Solve the card's settings, write the wanted files and tell what is on it.

    Raises SpotdwellError; RunError after everything is written if no setting at all could be solved.
    """
    files.check()
    try:
        found = _solved(material, power, dwell, options, workers, quiet)
        for name, path in files.named.items():
            getattr(found, f"write_{name}")(path)
    except KeyboardInterrupt:
        raise Interrupted("Stopped: the card is not whole; run the command again.") from None
    for failure in found.failures:
        mention(f"No prediction: {failure}")
    if not quiet:
        say(text_of(*_lines(found), *(f"Saved {path}" for path in files.named.values()), "", SAFETY))
    if all(mark.failure for mark in found.marks):
        raise RunError(f"no setting could be solved; the card says why. The first: {found.marks[0].failure}")


def _solved(material: str, power: str, dwell: str, options: Any, workers: int | None, quiet: bool) -> Card:
    from spotdwell.study.bench.card import card

    with Watch(quiet, "shots") as watch:
        return card(material, power, dwell, workers, watch.count, **options)


def _lines(card: Card) -> list[str]:
    """The card in short: how many shots, on what, how far apart."""
    from spotdwell.output.cards.sheets import sheets_of
    from spotdwell.output.cards.words import set_up, title

    shots, sheets = len(card.shots), len(sheets_of(card))
    head = f"{title(card)}: {_number(shots, 'shot')} in {_number(len(card.groups), 'group')}"
    return [f"{head}, {_number(sheets, 'sheet')}", *(f"  {word}: {text}" for word, text in set_up(card))]


def _number(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
