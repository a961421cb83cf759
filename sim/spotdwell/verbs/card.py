"""The verb `card`: test shots on a bench target, to be printed, shot and filled in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

from spotdwell.base.settings import OUTPUT
from spotdwell.console import options as o

_SHOTS = "Shots"


@o.takes(
    *("wavelength", "definition", "profile", "order", "inner_ratio"),
    *("cell_depth", "cell_width", "refinement"),
)
def card(
    material: o.Material,
    power: Annotated[str, o.option(_SHOTS, '"5 W, 10 W"', "Powers as they are set.")],
    dwell: Annotated[str, o.option(_SHOTS, '"10 ms, 50 ms"', "Duration of the shots.")],
    spot: Annotated[str | None, o.option(_SHOTS, '"0.8 mm"', "Diameters of the beam.")] = None,
    laser: Annotated[str | None, o.option(_SHOTS, "FILE.toml", "Laser file, in place of the spots.")] = None,
    dial: Annotated[str | None, o.option(_SHOTS, '"1, 2"', "Its positions; all if left out.")] = None,
    repeat: Annotated[int | None, o.option(_SHOTS, "NUMBER", "Shots at each setting; 1 if left out.")] = None,
    against: Annotated[
        str | None, o.option(_SHOTS, "MATERIAL", "Tissue beside it; soft_tissue if left out, or none.")
    ] = None,
    initial_temperature: Annotated[
        str | None, o.option(_SHOTS, '"20 degC"', "Of the bench target; 22 degC if left out.")
    ] = None,
    title: Annotated[str | None, o.option(OUTPUT, "TEXT", "Title of the card.")] = None,
    pdf: Annotated[Path | None, o.option(OUTPUT, "CARD.pdf", "Write sheets of A4.")] = None,
    html: Annotated[Path | None, o.option(OUTPUT, "CARD.html", "Write the same as one page.")] = None,
    csv: Annotated[Path | None, o.option(OUTPUT, "SHOTS.csv", "Write the table to be filled in.")] = None,
    workers: Annotated[int | None, o.option(OUTPUT, "NUMBER", "Processes; one a core if left out.")] = None,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Print a card of test shots: in which order, what mark to expect of each, and blanks for what was seen.

    Example: spotdwell card --on apple --power "5 W, 10 W, 20 W" --dwell "10 ms, 50 ms, 100 ms"
    --spot "0.8 mm" --pdf card.pdf --html card.html --csv shots.csv
    """
    from spotdwell.terminal.card import Files, carry_out

    own = {"spot": spot, "laser": laser, "dial": dial, "repeat": repeat, "against": against, "title": title}
    settings |= own | {"initial_temperature": initial_temperature}
    carry_out(material, power, dwell, settings, Files(pdf, html, csv), workers, quiet)
