"""Options of the verbs `run` and `shot`: what each is called, takes and means."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

_BEAM, _TIME, _TARGET, _LIMITS, _OUTPUT = "Beam", "Exposure and end", "Target and grid", "Limits", "Output"


def _option(panel: str, metavar: str | None, help_text: str, *names: str) -> Any:
    """Option in a panel of the help; `metavar` is an example in quotes for a quantity with its unit."""
    return typer.Option(*names, help=help_text, metavar=metavar, rich_help_panel=panel)


Words = str | None
Number = float | None

On = Annotated[str, typer.Option("--on", metavar="MATERIAL", help="Shipped material, or a .toml file.")]

Power = Annotated[Words, _option(_BEAM, '"25 W"', "Power while the beam is on.")]
Spot = Annotated[Words, _option(_BEAM, '"1.6 mm"', "Diameter of the beam.")]
Laser = Annotated[
    Words, _option(_BEAM, "FILE.toml", "Laser file: spot, wavelength, share of the power that arrives.")
]
Dial = Annotated[Words, _option(_BEAM, "WORD", "Dial position of the laser's spot.")]
Definition = Annotated[Words, _option(_BEAM, "WORD", "Of the diameter: 1/e2, D4sigma or 86.5 %.")]
Profile = Annotated[Words, _option(_BEAM, "WORD", "gaussian, flat-top, super-gaussian or annular.")]
Order = Annotated[Number, _option(_BEAM, "NUMBER", "Order of a super-gaussian.")]
InnerRatio = Annotated[Number, _option(_BEAM, "SHARE", "Inner over outer radius of an annular beam.")]
Wavelength = Annotated[Words, _option(_BEAM, '"10.6 um"', "Wavelength; 10.6 um if left out.")]
Plume = Annotated[Number, _option(_BEAM, "SHARE", "Of the beam that gets through the plume.")]

Dwell = Annotated[Words, _option(_TIME, '"80 ms"', "Duration of each exposure.")]
Count = Annotated[int | None, _option(_TIME, "NUMBER", "Of exposures, with --pause.")]
Pause = Annotated[Words, _option(_TIME, '"100 ms"', "Time between two exposures.")]
PulseDuration = Annotated[Words, _option(_TIME, '"400 us"', "Of pulses inside each exposure.")]
RepetitionRate = Annotated[Words, _option(_TIME, '"140 Hz"', "Of these pulses.")]
PeakPower = Annotated[Words, _option(_TIME, '"80 W"', "Of superpulses; else the power is chopped.")]
EndTime = Annotated[Words, _option(_TIME, '"2 s"', "End of the run; else when all is cool.")]
EndTemperature = Annotated[Words, _option(_TIME, '"45 degC"', "Below which all is cool.")]
SaveTimes = Annotated[Words, _option(_TIME, '"5 ms, 9 ms"', "When fields are kept, besides the end.")]

Thickness = Annotated[Words, _option(_TARGET, '"2 mm"', "Of the material; thick if left out.")]
Film = Annotated[Words, _option(_TARGET, '"50 um"', "Thickness of a film of water on it.")]
Backing = Annotated[Words, _option(_TARGET, "WORD", "Under it: insulated, held or open air.")]
BackingTemperature = Annotated[Words, _option(_TARGET, '"20 degC"', "Of a held backing.")]
InitialTemperature = Annotated[Words, _option(_TARGET, '"20 degC"', "37 degC if left out.")]
AmbientTemperature = Annotated[Words, _option(_TARGET, '"22 degC"', "Of the room; 22 degC if left out.")]
Geometry = Annotated[Words, _option(_TARGET, "WORD", "axisymmetric, or lattice for 3-D.")]
CellDepth = Annotated[Words, _option(_TARGET, '"5 um"', "Height of the fine cells.")]
CellWidth = Annotated[Words, _option(_TARGET, '"20 um"', "Width of columns under the beam.")]
Refinement = Annotated[Number, _option(_TARGET, "NUMBER", "Cells are this many times smaller.")]

CharLimit = Annotated[Words, _option(_LIMITS, '"20 um"', "Most char at floor and wall.")]
DepthLimit = Annotated[Words, _option(_LIMITS, '"1 mm"', "Deepest wanted crater.")]

Title = Annotated[Words, _option(_OUTPUT, "TEXT", "Title of the result.")]
Out = Annotated[Path | None, _option(_OUTPUT, "FILE.h5", "Keep the result as HDF5.", "--out")]
Picture = Annotated[Path | None, _option(_OUTPUT, "FILE.png", "Draw the section; or svg, pdf.", "--picture")]
Json = Annotated[bool, _option(_OUTPUT, None, "Print one JSON object in SI instead.", "--json")]
CheckGrid = Annotated[bool, _option(_OUTPUT, None, "Solve it on a finer grid too.", "--check-grid")]
Uncertainty = Annotated[
    int | None, _option(_OUTPUT, "N", "Sample the materials' ranges N times; 128 is enough.", "--uncertainty")
]
Seed = Annotated[int | None, _option(_OUTPUT, "NUMBER", "Of these samples; 0 if left out.")]
Workers = Annotated[int | None, _option(_OUTPUT, "NUMBER", "Processes for them; one a core if left out.")]
Quiet = Annotated[bool, _option(_OUTPUT, None, "Print no progress, only the verdict.", "--quiet")]
