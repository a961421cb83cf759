"""Result of a scan, which keeps and draws itself."""

from __future__ import annotations

import os

from spotdwell.base import units
from spotdwell.scans.record import ScanRecord


class ScanResult(ScanRecord):
    """What a pattern leaves, with all that is needed to show and keep it."""

    def __repr__(self) -> str:
        depth = units.display(self.measures["depth_mean"] or 0.0, "m", "um")
        return f"<ScanResult: {self.verdict.text}, {depth} deep, as a {self.model}>"

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write HDF5 to `path`: the run's result, with a group `scan`. Raises RunError as a result does."""
        from spotdwell.output import store

        store.save(self.record, path, {"scan": self.labelled()})

    def plot(self, path: str | os.PathLike[str]) -> None:
        """Draw section across the lines, depth from above and build-up: png, svg or pdf by the suffix."""
        from spotdwell.scans.picture import draw_scan

        draw_scan(self, path)
