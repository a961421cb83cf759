"""Growing file: enters points into the file of a cube, which survives a kill at any moment.

The file is made whole, with every point missing, before the first run. Each array then lies in one piece at
a place that stays, so a point is entered by overwriting its numbers there, with its verdict last: what
the library knows of the file's structure is never touched again, nothing waits in memory, others may read
meanwhile, and a full disk shows before the first run.
"""

from __future__ import annotations

import os
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import numpy as np

from spotdwell.base.errors import InputError, RunError
from spotdwell.base.system import InUse, claim, open_to_change, write_at
from spotdwell.output.maps.cube import Point
from spotdwell.output.maps.point_bytes import bytes_of as _bytes_of
from spotdwell.output.sealed import Regions, varying_of


class GrowingFile:
    """Context that enters points into the file of a cube, each at once.

    Raises RunError where the file is in use by another run or refuses to be written.
    """

    def __init__(self, path: str | os.PathLike[str], shape: tuple[int, ...]) -> None:
        self._path, self._shape = Path(path), shape
        self._file = -1

    def __enter__(self) -> Self:
        self._places = _places_of(self._path)
        self._file = self._attempted(open_to_change, self._path)
        _claim(self._file, self._path)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if error is None:
                self._attempted(os.fsync, self._file)
        finally:
            os.close(self._file)

    def enter(self, index: tuple[int, ...], point: Point) -> None:
        """Enter what the run at `index` found; its verdict, which makes it count as computed, comes last."""
        number = int(np.ravel_multi_index(index, self._shape))
        for name, data in _bytes_of(point):
            start = self._places[name][0] + number * len(data)
            while data:
                written = self._attempted(write_at, self._file, data, start)
                data, start = data[written:], start + written

    def _attempted(self, function: Any, *arguments: Any) -> Any:
        try:
            return function(*arguments)
        except OSError as error:
            raise RunError(
                f"{self._path}: cannot be written: {error.strerror or error}. The results so far are kept in "
                "it: free some space and run the same again to go on"
            ) from error


def _places_of(path: Path) -> Regions:
    """Where each array lies in the file, as its seal says."""
    if (found := varying_of(path)) is None:
        advice = "Name another file: this one can be read, but not gone on with"
        raise InputError(str(path), "a map as it was first written", "one that was packed anew", advice)
    return found


def _claim(file: int, path: Path) -> None:
    """Raise RunError if another run writes the file. Readers need no permission."""
    try:
        claim(file)
    except InUse:
        os.close(file)
        raise RunError(f"{path}: another run is writing it. Wait for it or name another file") from None
