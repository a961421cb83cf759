"""Bytes of a point as the file of a map holds them, and the checksum by which a damaged one is known."""

from __future__ import annotations

import hashlib

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.foreign import is_clean
from spotdwell.base.names import MEASURES
from spotdwell.output.maps.cube import FAILED, LONGEST_REASON, LONGEST_WORD, OUTLINES, Cube, Point, shortened

VERDICT, FAILURE, SECONDS, RADIUS, CHECKSUM = "verdict", "failure", "seconds", "radius", "checksum"
OUTLINE = "{}_outline"


def bytes_of(point: Point) -> list[tuple[str, bytes]]:
    """Name of each array, and what the point has in it; its verdict, which makes it count, comes last."""
    outlines = zip(OUTLINES, point.outlines, strict=True)
    numbers = {
        **dict(zip(MEASURES, point.measures, strict=True)),
        SECONDS: point.seconds,
        RADIUS: point.radius,
        **{OUTLINE.format(name): depths for name, depths in outlines},
    }
    parts = [(name, np.asarray(value, dtype=np.float64).tobytes()) for name, value in numbers.items()]
    parts.append((FAILURE, shortened(point.failure).encode().ljust(LONGEST_REASON, b"\0")))
    verdict = point.word.encode().ljust(LONGEST_WORD, b"\0")
    digest = hashlib.blake2b(b"".join(data for _, data in parts) + verdict, digest_size=8)
    return [*parts, (CHECKSUM, digest.digest()), (VERDICT, verdict)]


def checksum_of(point: Point) -> int:
    """Checksum of all that the point holds."""
    return int.from_bytes(dict(bytes_of(point))[CHECKSUM], "little")


def checksums_of(cube: Cube) -> NDArray[np.uint64]:
    """Checksum of each point, 0 where it is missing, shape of the axes."""
    found = np.zeros(cube.shape, dtype="<u8")
    for index in np.ndindex(*cube.shape):
        if cube.word[index] != "":
            found[index] = checksum_of(point_at(cube, index))
    return found


def point_at(cube: Cube, index: tuple[int, ...]) -> Point:
    """The point of `cube` at `index`."""
    return Point(
        np.array([cube.measures[name][index] for name in MEASURES]),
        str(cube.word[index]),
        str(cube.failure[index]),
        float(cube.seconds[index]),
        cube.radius[index],
        np.array([cube.outlines[name][index] for name in OUTLINES]),
    )


def is_sound(point: Point, words: frozenset[str]) -> bool:
    """Whether a point is one that a run can have left: a known verdict, clean texts, no infinite number."""
    numbers = np.concatenate([point.measures, [point.seconds], point.radius, point.outlines.ravel()])
    lit = point.word == FAILED or bool(np.all(np.isfinite(point.radius)))
    return point.word in words and is_clean(point.failure) and not np.any(np.isinf(numbers)) and lit
