"""The command line: verbs and exit codes. What a verb needs is imported inside it, so that help is quick."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from spotdwell.base.errors import RunError, SpotdwellError
from spotdwell.terminal import options as o
from spotdwell.terminal.console import (
    SAFETY,
    Interrupted,
    complain,
    flush,
    mention,
    say,
    tolerate_any_encoding,
)

if TYPE_CHECKING:
    from spotdwell.inputs.shot import ShotOptions

_UsageError: type[Exception] = next(
    kind for kind in typer.BadParameter.__mro__ if kind.__name__ == "ClickException"
)
"""Base of what typer raises for a wrong command line; newer versions carry their own copy of it."""

_SETTINGS = {"help_option_names": ["-h", "--help"]}

app = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode="rich")
shelves = typer.Typer()
app.add_typer(shelves, name="list")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line with `arguments` (None: those of the process); returns the exit code.

    0: done; 1: a run or a check failed; 2: wrong input; 130: stopped by the user.
    """
    tolerate_any_encoding()
    code = _exit_code(arguments)
    flush()
    return code


def _exit_code(arguments: Sequence[str] | None) -> int:
    command = typer.main.get_command(app)
    try:
        code = int(command.main(arguments, prog_name="spotdwell", standalone_mode=False) or 0)
    except SystemExit:
        return 0  # so typer and rich leave when nobody reads their help any more, as in "| head"
    except SpotdwellError as error:
        complain(error)
        return error.exit_code
    except _UsageError as error:
        return _refuse(error)
    except OSError as error:
        complain(RunError(f"the system refused: {error}"))
        return 1
    except MemoryError:
        complain(RunError("there is not enough memory. Use larger cells or a smaller grid"))
        return 1
    except (KeyboardInterrupt, typer.Abort):
        code = Interrupted.exit_code
    if code == Interrupted.exit_code:
        # Typer has swallowed the interrupt; no verb had anything to lose, or it would have said so.
        mention("Stopped.")
    return code


def _refuse(error: Exception) -> int:
    """Report a command line that typer could not read."""
    context = getattr(error, "ctx", None)
    place = context.command_path if context else "spotdwell"
    message = " ".join(str(getattr(error, "format_message", error.__str__)()).split())
    mention(f"Error: {message}\nHelp: {place} --help")
    return int(getattr(error, "exit_code", 2))


def _say_version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version

        say(f"spotdwell {version('spotdwell')}")
        raise typer.Exit


@app.callback(invoke_without_command=True, epilog=SAFETY, context_settings=_SETTINGS)
def spotdwell(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", help="Print the version.", callback=_say_version, is_eager=True)
    ] = False,
) -> None:
    """Simulate what a surgical laser does to tissue from power, spot and dwell time.

    Example: spotdwell shot --on soft_tissue --power "25 W" --spot "1.6 mm" --dwell "80 ms"
    """
    _help_without_verb(context)


@shelves.callback(invoke_without_command=True)
def shelf(context: typer.Context) -> None:
    """List the shipped materials or scenarios, or show one.

    Example: spotdwell list materials skin
    """
    _help_without_verb(context)


def _help_without_verb(context: typer.Context) -> None:
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@app.command(epilog=SAFETY)
def run(
    scenario: Annotated[str, typer.Argument(metavar="SCENARIO", help="Path of a file, or a shipped name.")],
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    check_grid: o.CheckGrid = False,
    uncertainty: o.Uncertainty = None,
    seed: o.Seed = None,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
) -> None:
    """Solve a scenario and show what became of the target.

    Example: spotdwell run spot --out spot.h5 --picture spot.png
    """
    from spotdwell.terminal.job import Wanted, carry_out, scenario_of

    wanted = Wanted(out, picture, as_json, check_grid, quiet, uncertainty, seed, workers)
    carry_out(scenario_of(scenario), wanted)


@app.command(epilog=SAFETY)
def shot(
    on: o.On,
    power: o.Power = None,
    spot: o.Spot = None,
    dwell: o.Dwell = None,
    definition: o.Definition = None,
    profile: o.Profile = None,
    order: o.Order = None,
    inner_ratio: o.InnerRatio = None,
    wavelength: o.Wavelength = None,
    plume_transmittance: o.Plume = None,
    count: o.Count = None,
    pause: o.Pause = None,
    pulse_duration: o.PulseDuration = None,
    repetition_rate: o.RepetitionRate = None,
    peak_power: o.PeakPower = None,
    end_time: o.EndTime = None,
    end_temperature: o.EndTemperature = None,
    save_times: o.SaveTimes = None,
    thickness: o.Thickness = None,
    film: o.Film = None,
    backing: o.Backing = None,
    backing_temperature: o.BackingTemperature = None,
    initial_temperature: o.InitialTemperature = None,
    ambient_temperature: o.AmbientTemperature = None,
    geometry: o.Geometry = None,
    cell_depth: o.CellDepth = None,
    cell_width: o.CellWidth = None,
    refinement: o.Refinement = None,
    char_limit: o.CharLimit = None,
    depth_limit: o.DepthLimit = None,
    title: o.Title = None,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    check_grid: o.CheckGrid = False,
    uncertainty: o.Uncertainty = None,
    seed: o.Seed = None,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
) -> None:
    """Solve one shot, or a train of them, given by options: quantities with their units, in quotes.

    Example: spotdwell shot --on skin --power "4 W" --spot "0.6 mm" --dwell "10 ms"

    A train: add --count 10 --pause "90 ms"
    """
    from spotdwell.terminal.job import Wanted, carry_out
    from spotdwell.terminal.typed_shot import scenario_of_typed

    options: ShotOptions = {
        "wavelength": wavelength or "10.6 um",
        "definition": definition,
        "profile": profile,
        "order": order,
        "inner_ratio": inner_ratio,
        "plume_transmittance": plume_transmittance,
        "pulse_duration": pulse_duration,
        "repetition_rate": repetition_rate,
        "peak_power": peak_power,
        "end_time": end_time,
        "end_temperature": end_temperature,
        "save_times": None if save_times is None else [one.strip() for one in save_times.split(",")],
        "thickness": thickness,
        "film": film,
        "backing": backing,
        "backing_temperature": backing_temperature,
        "initial_temperature": initial_temperature,
        "ambient_temperature": ambient_temperature,
        "geometry": geometry,
        "cell_depth": cell_depth,
        "cell_width": cell_width,
        "refinement": refinement,
        "char_limit": char_limit,
        "depth_limit": depth_limit,
        "title": title,
    }
    scenario = scenario_of_typed(on, power, spot, dwell, count, pause, options)
    wanted = Wanted(out, picture, as_json, check_grid, quiet, uncertainty, seed, workers)
    carry_out(scenario, wanted)


@shelves.command()
def materials(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="One of them, or a .toml file.")
    ] = None,
) -> None:
    """List the shipped materials, or show one with its sources.

    Example: spotdwell list materials soft_tissue
    """
    from spotdwell.terminal import catalogue
    from spotdwell.terminal.console import text_of

    say(text_of(*(catalogue.materials() if name is None else catalogue.material(name))))


@shelves.command()
def scenarios(
    name: Annotated[str | None, typer.Argument(metavar="[NAME]", help="One of them.")] = None,
) -> None:
    """List the shipped scenarios, or print the text of one.

    Example: spotdwell list scenarios spot > my_shot.toml
    """
    if name is not None:
        from spotdwell import library

        say(library.text(library.Shelf.SCENARIOS, name).rstrip("\n"))
        return
    from spotdwell.terminal import catalogue
    from spotdwell.terminal.console import text_of

    say(text_of(*catalogue.scenarios()))


@app.command()
def plot(
    result: Annotated[Path, typer.Argument(metavar="RESULT.h5", help="File that a run wrote.")],
    cross_section: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Section through the axis: png, svg or pdf.")
    ] = None,
    history: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Power, temperature and depth against time.")
    ] = None,
) -> None:
    """Draw a kept result; without options both pictures, as png beside it.

    Example: spotdwell plot spot.h5 --cross-section spot.svg
    """
    from spotdwell.terminal.pictures import draw

    draw(result, cross_section, history)


@app.command()
def selfcheck(
    names: Annotated[list[str] | None, typer.Argument(metavar="[NAMES]...", help="Only these.")] = None,
    full: Annotated[bool, typer.Option("--full", help="Write a report with all evidence.")] = False,
    out: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="For the report; ./credibility if left out.")
    ] = None,
) -> None:
    """Compare the solver with closed forms: claimed and computed values, error and tolerance.

    Example: spotdwell selfcheck surface-flux

    A report with all evidence, in a few minutes: spotdwell selfcheck --full --out evidence
    """
    from spotdwell.terminal.checks import check_self
    from spotdwell.terminal.credibility import check_in_full, refuse_mixture

    refuse_mixture(names, full, out)
    if not (check_in_full(out) if full else check_self(names or None)):
        raise typer.Exit(1)


@app.command()
def schema() -> None:
    """Print the JSON Schema of scenario files, for editors.

    Example: spotdwell schema > scenario.schema.json
    """
    from spotdwell.inputs.json_schema import scenario_schema_text

    say(scenario_schema_text().rstrip("\n"))
