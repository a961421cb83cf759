"""The verb `card`: test shots on a bench target, to be printed, shot and filled in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from spotdwell.base.cautions import SAFETY
from spotdwell.base.errors import InputError, RunError
from spotdwell.base.settings import OUTPUT
from spotdwell.console import options as o
from spotdwell.console.screen import mention, say, text_of

if TYPE_CHECKING:
    from spotdwell.cards.card import Shot
    from spotdwell.cards.document import Card

_SHOTS = "Shots"


@o.takes(
    *("wavelength", "definition", "profile", "order", "inner_ratio"),
    *("cell_depth", "cell_width", "refinement"),
)
def card_verb(
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
        str | None, o.option(_SHOTS, '"20 degC"', "Of the bench target; its material's own if left out.")
    ] = None,
    title: Annotated[str | None, o.option(OUTPUT, "TEXT", "Title of the card.")] = None,
    pdf: Annotated[Path | None, o.option(OUTPUT, "CARD.pdf", "Write sheets of A4.")] = None,
    html: Annotated[Path | None, o.option(OUTPUT, "CARD.html", "Write the same as one page.")] = None,
    csv: Annotated[Path | None, o.option(OUTPUT, "SHOTS.csv", "Write the table to be filled in.")] = None,
    workers: Annotated[int | None, o.option(OUTPUT, "NUMBER", "Processes; one a core if left out.")] = None,
    as_json: o.Json = False,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Print a card of test shots: in which order, what mark to expect of each, and blanks for what was seen.

    Example: spotdwell card --on apple --power "5 W, 10 W, 20 W" --dwell "10 ms, 50 ms, 100 ms"
    --spot "0.8 mm" --pdf card.pdf --html card.html --csv shots.csv
    """
    own = {"spot": spot, "laser": laser, "dial": dial, "repeat": repeat, "against": against, "title": title}
    settings |= own | {"initial_temperature": initial_temperature}
    carry_out(
        (material, power, dwell), settings, {"pdf": pdf, "html": html, "csv": csv}, workers, quiet, as_json
    )


def carry_out(
    asked: tuple[str, str, str],
    settings: dict[str, Any],
    outputs: dict[str, Path | None],
    workers: int | None,
    quiet: bool,
    as_json: bool = False,
) -> None:
    """Solve the card `asked` for: material, powers and dwells; write the `outputs`, tell what is on it.

    Raises InputError for no file, and SpotdwellError; RunError after everything is written if no setting at
    all could be solved.
    """
    import spotdwell
    from spotdwell.console.progress import Watch
    from spotdwell.console.saving import Files, say_json, stopped

    files = Files(quiet, as_json)
    for kind, path in outputs.items():
        files.check(kind, path, kind)
    if not files.expected and not as_json:
        raise InputError("pdf", "a file for the card: --pdf, --html or --csv", "none", "Add one.")
    with stopped("the card is not whole; run the command again."):
        with Watch(quiet, "shots") as watch:
            found = spotdwell.card(*asked, workers, watch.count, **settings)
        for kind, path in outputs.items():
            if path is not None:
                getattr(found, f"write_{kind}")(path)
    for failure in found.failures:
        mention(f"No prediction: {failure}")
    if as_json:
        say_json(_plain(found))
    elif not quiet:
        say(text_of(*_lines(found), *(f"Saved {path}" for path in files.expected), "", SAFETY))
    if all(mark.failure for mark in found.marks):
        raise RunError(f"no setting could be solved; the card says why. The first: {found.marks[0].failure}")


def _plain(card: Card) -> dict[str, Any]:
    """The shots in the order of firing with what to expect, SI, of types that JSON knows."""
    from spotdwell.base.names import MEASURES

    def shot(one: Shot) -> dict[str, Any]:
        setting, mark = card.settings[one.setting], card.marks[one.setting]
        return {
            "number": one.number,
            "place": card.place(one),
            "power": setting.power,
            "power_on_target": setting.on_target,
            "dwell": setting.dwell,
            "spot": setting.spot,
            "dial": setting.dial,
            "verdict": mark.word,
            "failure": mark.failure,
            "measures": dict(mark.measures),
        }

    units = {"power": "W", "power_on_target": "W", "dwell": "s", "spot": "m"}
    units |= {name: quantity.unit for name, quantity in MEASURES.items()}
    return {"title": card.title, "shots": [shot(one) for one in card.shots], "units": units}


def _lines(card: Card) -> list[str]:
    """The card in short: how many shots, on what, how far apart."""
    from spotdwell.cards.document import sheets_of
    from spotdwell.cards.words import set_up, title

    shots, sheets = len(card.shots), len(sheets_of(card))
    head = f"{title(card)}: {_number(shots, 'shot')} in {_number(len(card.groups), 'group')}"
    return [f"{head}, {_number(sheets, 'sheet')}", *(f"  {word}: {text}" for word, text in set_up(card))]


def _number(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
