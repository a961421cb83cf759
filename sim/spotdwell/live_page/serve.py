"""The page served from the command line, until Ctrl-C."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from spotdwell.base.cautions import SAFETY
from spotdwell.console.screen import mention, say
from spotdwell.live_page.run import live


def serve(material: str, folder: Path, port: int, show: bool, settings: Mapping[str, Any]) -> None:
    """Serve the page and say where, until it is stopped. Raises as `live` does."""
    with live(material, folder, port, show, **settings) as page:
        try:
            # Who reads the address may end it at once.
            say(f"The page is at {page.address}\nIt opens on this machine only. Ctrl-C ends it.\n{SAFETY}")
            page.wait()
        except KeyboardInterrupt:
            mention("Ended.")
