"""The verb `compare`: several pulse regimes at equal average power, equal energy or equal depth."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from spotdwell.terminal import options as o
from spotdwell.verbs.settings import with_settings

if TYPE_CHECKING:
    from spotdwell.study.regimes.comparison import CompareOptions

_EQUAL = "Regimes and what is equal"
_OF_THE_REGIMES = (
    *("power", "dwell", "count", "pause", "pulse_duration", "repetition_rate", "peak_power"),
    *("end_time", "end_temperature", "save_times", "geometry", "title"),
)
"""Settings that a regime says or that all regimes share."""


@with_settings(*_OF_THE_REGIMES)
def compare(
    on: o.On,
    spot: o.Spot = None,
    regime: Annotated[
        list[str] | None,
        typer.Option(metavar="TEXT", help="One of them, as above; again for each.", rich_help_panel=_EQUAL),
    ] = None,
    equal: Annotated[
        str, typer.Option(metavar="WORD", help="average-power, energy or depth.", rich_help_panel=_EQUAL)
    ] = "average-power",
    average_power: Annotated[
        str | None,
        typer.Option(metavar='"10 W"', help="Of each regime; 10 W if left out.", rich_help_panel=_EQUAL),
    ] = None,
    time: Annotated[
        str | None,
        typer.Option(metavar='"1 s"', help="Of each regime; 1 s if left out.", rich_help_panel=_EQUAL),
    ] = None,
    energy: Annotated[
        str | None,
        typer.Option(metavar='"5 J"', help="At equal energy; else power times time.", rich_help_panel=_EQUAL),
    ] = None,
    depth: Annotated[
        str | None,
        typer.Option(metavar='"1 mm"', help="At equal depth; else the first's.", rich_help_panel=_EQUAL),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE.png", help="Sections in a row; or svg, pdf.", rich_help_panel="Output"),
    ] = None,
    size: Annotated[
        str, typer.Option(metavar="WORD", help="Of it: page, column or slide.", rich_help_panel="Output")
    ] = "page",
    table: Annotated[
        Path | None,
        typer.Option(metavar="FILE.csv", help="All numbers, a line each.", rich_help_panel="Output"),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Keep each result as HDF5.", rich_help_panel="Output"),
    ] = None,
    as_json: o.Json = False,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
    **settings: Any,
) -> None:
    """Solve several pulse regimes on the same spot, and say in one sentence what differs and why.

    Example: spotdwell compare --on soft_tissue --spot "2 mm" --picture regimes.png

    Regimes: "continuous"; "gated: 20 ms on, 80 ms off"; "chopped: 2 ms at
    250 Hz"; "superpulsed: 400 us at 250 Hz, peak 100 W"; "short pulses: 60 us at
    50 Hz".
    A power or a rate that is left out follows from the average power.

    Without any: four that a spot of 2 mm shows apart, at 10 W on average for 1 s.
    """
    from spotdwell.terminal.compare import Request, Wanted, carry_out

    options: CompareOptions = {
        "average_power": average_power,
        "time": time,
        "energy": energy,
        "depth": depth,
        **settings,  # type: ignore[typeddict-item]
    }
    request = Request(on, spot, tuple(regime or ()), equal, workers, options)
    carry_out(request, Wanted(picture, table, out, size, as_json, quiet))
