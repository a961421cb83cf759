"""The verb `card`: test shots on a bench target, to be printed, shot and filled in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from spotdwell.base.errors import InputError, RunError
from spotdwell.terminal import options as o
from spotdwell.terminal.console import SAFETY, Interrupted, mention, say, text_of
from spotdwell.terminal.count import Count
from spotdwell.terminal.watch import COMPILING, kernels_compiled

if TYPE_CHECKING:
    from spotdwell.cards.card import Card
    from spotdwell.cards.request import CardOptions

_SHOTS, _OUTPUT = "Shots", "Output"


def card(
    on: o.On,
    power: Annotated[
        str, typer.Option(metavar='"5 W, 10 W"', help="Powers as they are set.", rich_help_panel=_SHOTS)
    ],
    dwell: Annotated[
        str, typer.Option(metavar='"10 ms, 50 ms"', help="Duration of the shots.", rich_help_panel=_SHOTS)
    ],
    spot: Annotated[
        str | None,
        typer.Option(metavar='"0.8 mm"', help="Diameters of the beam.", rich_help_panel=_SHOTS),
    ] = None,
    laser: Annotated[
        str | None,
        typer.Option(metavar="FILE.toml", help="Laser file, in place of the spots.", rich_help_panel=_SHOTS),
    ] = None,
    dial: Annotated[
        str | None,
        typer.Option(metavar='"1, 2"', help="Its positions; all if left out.", rich_help_panel=_SHOTS),
    ] = None,
    repeat: Annotated[
        int | None,
        typer.Option(metavar="NUMBER", help="Shots at each setting; 1 if left out.", rich_help_panel=_SHOTS),
    ] = None,
    against: Annotated[
        str | None,
        typer.Option(
            metavar="MATERIAL",
            help="Tissue beside it; soft_tissue if left out, or none.",
            rich_help_panel=_SHOTS,
        ),
    ] = None,
    wavelength: o.Wavelength = None,
    definition: o.Definition = None,
    profile: o.Profile = None,
    order: o.Order = None,
    inner_ratio: o.InnerRatio = None,
    initial_temperature: Annotated[
        str | None,
        typer.Option(
            metavar='"20 degC"', help="Of the bench target; 22 degC if left out.", rich_help_panel=_SHOTS
        ),
    ] = None,
    cell_depth: o.CellDepth = None,
    cell_width: o.CellWidth = None,
    refinement: o.Refinement = None,
    title: Annotated[
        str | None, typer.Option(metavar="TEXT", help="Title of the card.", rich_help_panel=_OUTPUT)
    ] = None,
    pdf: Annotated[
        Path | None, typer.Option(metavar="CARD.pdf", help="Write sheets of A4.", rich_help_panel=_OUTPUT)
    ] = None,
    html: Annotated[
        Path | None,
        typer.Option(metavar="CARD.html", help="Write the same as one page.", rich_help_panel=_OUTPUT),
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option(metavar="SHOTS.csv", help="Write the table to be filled in.", rich_help_panel=_OUTPUT),
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option(metavar="NUMBER", help="Processes; one a core if left out.", rich_help_panel=_OUTPUT),
    ] = None,
    quiet: o.Quiet = False,
) -> None:
    """Print a card of test shots: in which order, what mark to expect of each, and blanks for what was seen.

    Example: spotdwell card --on apple --power "5 W, 10 W, 20 W" --dwell "10 ms, 50 ms, 100 ms"
    --spot "0.8 mm" --pdf card.pdf --html card.html --csv shots.csv
    """
    options: CardOptions = {
        "spot": spot,
        "laser": laser,
        "dial": dial,
        "repeat": repeat,
        "against": against,
        "wavelength": wavelength,
        "definition": definition,
        "profile": profile,
        "order": order,
        "inner_ratio": inner_ratio,
        "initial_temperature": initial_temperature,
        "cell_depth": cell_depth,
        "cell_width": cell_width,
        "refinement": refinement,
        "title": title,
    }
    carry_out(on, power, dwell, options, Files(pdf, html, csv), workers, quiet)


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
        from spotdwell.output.whole_file import check_writable

        if not self.named:
            raise InputError("--pdf", "a file for the card: --pdf, --html or --csv", "none", "Add one.")
        for name, path in self.named.items():
            if path.suffix.lower() not in (f".{name}", ".htm" if name == "html" else ""):
                advice = f"Name it {path.stem}.{name}."
                raise InputError(f"--{name}", f"a file name that ends in .{name}", f'"{path}"', advice)
            check_writable(path)


def carry_out(
    material: str,
    power: str,
    dwell: str,
    options: CardOptions,
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


def _solved(
    material: str, power: str, dwell: str, options: CardOptions, workers: int | None, quiet: bool
) -> Card:
    import spotdwell

    if not quiet and not kernels_compiled():
        mention(COMPILING)
    with Count(quiet, "shots") as count:
        return spotdwell.card(material, power, dwell, workers, count.see, **options)


def _lines(card: Card) -> list[str]:
    """The card in short: how many shots, on what, how far apart."""
    from spotdwell.cards.document import sheets_of
    from spotdwell.cards.words import set_up, title

    shots, sheets = len(card.shots), len(sheets_of(card))
    head = f"{title(card)}: {_number(shots, 'shot')} in {_number(len(card.groups), 'group')}"
    return [f"{head}, {_number(sheets, 'sheet')}", *(f"  {word}: {text}" for word, text in set_up(card))]


def _number(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
