"""The verb `compare`: several pulse regimes at equal average power, equal energy or equal depth."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

from spotdwell.base.settings import OUTPUT
from spotdwell.console import options as o

_EQUAL = "Regimes and what is equal"


@o.takes_all_but(
    *("power", "dwell", "count", "pause", "pulse_duration", "repetition_rate", "peak_power"),
    *("end_time", "end_temperature", "save_times", "geometry", "title"),
)
def compare_verb(
    material: o.Material,
    regime: Annotated[
        list[str] | None, o.option(_EQUAL, "TEXT", "One of them, as above; again for each.")
    ] = None,
    equal: Annotated[str, o.option(_EQUAL, "WORD", "average-power, energy or depth.")] = "average-power",
    average_power: Annotated[
        str | None, o.option(_EQUAL, '"10 W"', "Of each regime; 10 W if left out.")
    ] = None,
    time: Annotated[str | None, o.option(_EQUAL, '"1 s"', "Of each regime; 1 s if left out.")] = None,
    energy: Annotated[
        str | None, o.option(_EQUAL, '"5 J"', "At equal energy; else power times time.")
    ] = None,
    depth: Annotated[str | None, o.option(_EQUAL, '"1 mm"', "At equal depth; else the first's.")] = None,
    picture: Annotated[Path | None, o.option(OUTPUT, "FILE.png", "Sections in a row; or svg, pdf.")] = None,
    size: Annotated[str, o.option(OUTPUT, "WORD", "Of it: page, column or slide.")] = "page",
    table: Annotated[Path | None, o.option(OUTPUT, "FILE.csv", "All numbers, a line each.")] = None,
    out: Annotated[Path | None, o.option(OUTPUT, "FOLDER", "Keep each result as HDF5.")] = None,
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
    from functools import partial

    from spotdwell.regimes.run import compare
    from spotdwell.regimes.shown import Outputs, carry_out

    settings |= {"average_power": average_power, "time": time, "energy": energy, "depth": depth}
    solve = partial(compare, material, regimes=regime or (), equal=equal, workers=workers, **settings)
    carry_out(solve, Outputs(picture, table, out, size, as_json, quiet))
