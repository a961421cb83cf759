"""The verb `live`: a page with knobs, computed by this machine for itself."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

from spotdwell.base.settings import SETTINGS
from spotdwell.console import options as o

Material = Annotated[str, o.option(None, "MATERIAL", SETTINGS["material"].help, "--on")]
Folder = Annotated[
    Path, o.option(None, "FOLDER", "Where its files go, and where laser and material files lie.", "--folder")
]
Port = Annotated[int, o.option(None, "NUMBER", "Of the address; 0 takes a free one.", "--port")]
NoBrowser = Annotated[bool, o.option(None, None, "Print the address only.", "--no-browser")]


@o.takes("power", "spot", "dwell", "count", "pause", "pulse_duration", "repetition_rate", "laser", "dial")
def live_verb(
    material: Material = "oral_mucosa",
    folder: Folder = Path("."),
    port: Port = 0,
    no_browser: NoBrowser = False,
    **settings: Any,
) -> None:
    """Open a page in the browser with knobs for power, spot and dwell that computes as they turn.

    Example: spotdwell live --on skin --power "4 W" --spot "0.6 mm" --dwell "10 ms"

    It is served to this machine alone; Ctrl-C ends it.
    """
    from spotdwell.live_page.serve import serve

    serve(material, folder, port, not no_browser, {k: v for k, v in settings.items() if v is not None})
