"""Result: the record of a run, which can be saved, loaded and drawn."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from typing import Any

from spotdwell.base.names import MEASURES
from spotdwell.measure.interval import LEVEL_WORDS
from spotdwell.measure.verdict import verdict_of
from spotdwell.model.problem import Problem
from spotdwell.output.record import Record, fields_of
from spotdwell.solve.outcome import Outcome


@dataclass(frozen=True, eq=False)
class Result(Record):
    """What a run found, with all that is needed to draw it, read it and repeat it."""

    def judged(
        self,
        char_limit: float | None = None,
        depth_limit: float | None = None,
        aspect_ratio: float | None = None,
    ) -> Result:
        """The same result with the verdict that other limits [m, m, -] give; those left out stay.

        How often draws have a verdict is not known for other limits: its interval then has no such shares.
        """
        limits = self.verdict.limits
        changed = {"char_thickness": char_limit, "depth": depth_limit, "aspect_ratio": aspect_ratio}
        given = {name: value for name, value in changed.items() if value is not None}
        others = replace(limits, **given)
        kept = self.interval
        if kept is not None and others != limits:
            kept = replace(kept, words={})
        return replace(self, verdict=verdict_of(self.measures, others), interval=kept)

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write HDF5 to `path`, whole or not at all. Raises RunError where it cannot be written."""
        from spotdwell.output import store

        store.save(self, path)

    def plot(self, path: str | os.PathLike[str] | None = None) -> Any:
        """Draw the section through the axis to `path`, png, svg or pdf by its suffix.

        Without a path it returns the figure of matplotlib, which a notebook shows.
        """
        from spotdwell.output.pictures.plots import cross_section, section_figure

        if path is None:
            return section_figure(self)
        return cross_section(self, path)

    def to_xarray(self) -> Any:
        """Fields, history, measures and ledger as an `xarray.Dataset` in SI, with units and meanings.

        Raises RunError where xarray is not installed: pip install "spotdwell[notebook]".
        """
        from spotdwell.output.labelled import dataset_of

        return dataset_of(self)

    def __repr__(self) -> str:
        depth = MEASURES["deepest"].text(self.measures["deepest"] or 0.0, self.measures.get("cell_depth"))
        setting = ", ".join(text for name, text in self.setting.items() if name != "title")
        return f"<Result: {setting}: {self.verdict_text}, {depth} um deep>"

    def _repr_html_(self) -> str:
        from html import escape

        from spotdwell.output.pictures.plots import section_svg
        from spotdwell.output.tables import measure_rows

        cell, kept = self.measures.get("cell_depth"), self.interval
        found = measure_rows(self.measures, cell, kept)
        rows = "".join(
            "<tr>" + "".join(f"<td>{escape(text)}</td>" for text in row.cells(kept is not None)) + "</tr>"
            for row in found
        )
        heads = "".join(f"<th>{text}</th>" for text in ("", "", "", LEVEL_WORDS)) if kept else ""
        reasons = " ".join(map(escape, self.verdict.reasons))
        head = f"<p><b>{escape(self.verdict_text)}</b>: {reasons}</p>"
        covers = f"<p>{escape(kept.covers)}</p>" if kept else ""
        table = f"<details><summary>All measures</summary><table>{heads}{rows}</table>{covers}</details>"
        return f"{section_svg(self)}{head}{table}"


def result_of(problem: Problem, outcome: Outcome, *found: Any, **provenance: Any) -> Result:
    """Result of `outcome`, which solved `problem`; the rest as `record.fields_of` takes it."""
    return Result(**fields_of(problem, outcome, *found, **provenance))


def load(path: str | os.PathLike[str]) -> Result:
    """The result kept at `path`, equal to the one saved.

    Raises InputError if there is no such file, or it is no result, damaged, changed or of another format.
    """
    from spotdwell.output import store

    return Result(**store.load_fields(path))
