"""Result: the record of a run, which can be saved, loaded and drawn."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any

from spotdwell.model.problem import Problem
from spotdwell.output.record import Record, fields_of
from spotdwell.solve.outcome import Outcome


@dataclass(frozen=True, eq=False)
class Result(Record):
    """What a run found, with all that is needed to draw it, read it and repeat it."""

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write HDF5 to `path`, whole or not at all. Raises RunError where it cannot be written."""
        from spotdwell.output import store

        store.save(self, path)

    def plot(self, path: str | os.PathLike[str]) -> None:
        """Draw the section through the axis to `path`; png, svg or pdf by its suffix."""
        from spotdwell.output.pictures.plots import cross_section

        cross_section(self, path)


def result_of(problem: Problem, outcome: Outcome, *found: Any, **provenance: Any) -> Result:
    """Result of `outcome`, which solved `problem`; the rest as `record.fields_of` takes it."""
    return Result(**fields_of(problem, outcome, *found, **provenance))


def load(path: str | os.PathLike[str]) -> Result:
    """The result kept at `path`, equal to the one saved.

    Raises InputError if there is no such file, or it is no result, damaged, changed or of another format.
    """
    from spotdwell.output import store

    return Result(**store.load_fields(path))
