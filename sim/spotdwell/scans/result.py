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

    def _repr_html_(self) -> str:
        from html import escape

        from spotdwell.output.pictures.plots import svg_of
        from spotdwell.output.pictures.style import painted
        from spotdwell.scans.picture import paint
        from spotdwell.scans.words import SCAN_MEASURES

        def shown(value: float, unit: str, display_unit: str) -> str:
            if unit == "1":
                return f"{units.significant(100.0 * value)} %" if display_unit == "%" else f"{value:.3g}"
            return units.display(value, unit, display_unit)

        rows = "".join(
            f"<tr><td>{escape(one.meaning)}</td><td>{shown(value, one.unit, one.display_unit)}</td></tr>"
            for name, one in SCAN_MEASURES.items()
            if (value := self.measures[name]) is not None
        )
        reasons = " ".join(map(escape, self.verdict.reasons))
        head = f"<p><b>{escape(self.verdict.text)}</b>: {reasons}</p>"
        table = f"<details><summary>All measures</summary><table>{rows}</table></details>"
        return f"{svg_of(painted(lambda figure: paint(figure, self)))}{head}{table}"

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write HDF5 to `path`: the run's result, with a group `scan`. Raises RunError as a result does."""
        from spotdwell.output import store

        store.save(self.record, path, {"scan": self.labelled()})

    def plot(self, path: str | os.PathLike[str]) -> None:
        """Draw section across the lines, depth from above and build-up: png, svg or pdf by the suffix."""
        from spotdwell.scans.picture import draw_scan

        draw_scan(self, path)
