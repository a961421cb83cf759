"""Films written to files: which moments they show and in which format."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError, RunError
from spotdwell.films.film import SHEET, frames
from spotdwell.output.result import Result
from spotdwell.output.whole_file import MAKER, whole_file

Array = NDArray[np.float64]

EXPOSURE_FRAMES = 48
"""Frames of the exposure, unless said otherwise."""
COOLING_FRAMES = 7
"""Frames of each decade of cooling."""
_FIRST_COOLING = 2e-3
"""First moment of cooling over the time with the beam on."""


def film_times(start: Array, stop: Array, end: float, frames: int = EXPOSURE_FRAMES) -> tuple[float, ...]:
    """Moments [s] of a run with the beam on from each `start` to each `stop` [s], until `end` [s].

    Some `frames` of them during the exposure, at even steps while the beam is on and closer to the pulse
    than to the next one while it is off; then by decades. Time 0 is the first.
    """
    if stop.size == 0:
        return tuple(np.linspace(0.0, end, frames + 1).tolist())
    last, lit = float(stop[-1]), float(np.sum(stop - start))
    cooling: Array = np.empty(0)
    if end > last:
        first = min(_FIRST_COOLING * lit, 0.1 * (end - last))
        count = max(2, round(COOLING_FRAMES * np.log10((end - last) / first)) + 1)
        cooling = last + np.geomspace(first, end - last, count)
    exposure = _pulses(start, stop, frames) if 2 * stop.size - 1 <= frames else _some(stop, frames)
    times = np.unique(np.concatenate([[0.0], exposure, cooling]))
    return tuple(times[times <= end].tolist())


def _pulses(start: Array, stop: Array, frames: int) -> Array:
    """Moments in and after every pulse; its end is always one."""
    on, off = stop - start, start[1:] - stop[:-1]
    slow = min(1.0, float(on.sum() / off.sum())) if off.sum() > 0.0 else 1.0
    each = frames / float(on.sum() + slow * off.sum())
    moments = [begin + span * _shares(each * span) for begin, span in zip(start, on, strict=True)]
    moments += [
        begin + span * _shares(each * slow * span) ** 2 for begin, span in zip(stop[:-1], off, strict=True)
    ]
    return np.concatenate(moments)


def _shares(count: float) -> Array:
    """Even shares of an interval, of which the last is its end."""
    whole = max(1, round(count))
    return np.arange(1, whole + 1) / whole


def _some(stop: Array, frames: int) -> Array:
    """Ends of some of very many pulses, evenly spread."""
    return np.asarray(stop[np.unique(np.linspace(0, stop.size - 1, frames).round().astype(int))])


FORMATS = ("gif", "mp4")
LEAST_FRAMES = 3

_PAUSE, _LAST = 0.08, 2.5
"""How long a frame, and the last one, stay [s]."""
_COLOURS = 96
"""Of a GIF; few are drawn, and fewer pack better."""
_ENCODER = "ffmpeg"


def film_format(path: Path) -> str:
    """Format of `path` by its suffix. Raises InputError if it is none, or mp4 without ffmpeg on the PATH."""
    suffix = path.suffix.lower().lstrip(".")
    if suffix not in FORMATS:
        known = " or ".join(f".{name}" for name in FORMATS)
        raise InputError(
            str(path), f"a film's suffix, {known}", f'"{path.suffix}"', f"Name it {path.stem}.gif"
        )
    if suffix == "mp4" and shutil.which(_ENCODER) is None:
        advice = f"Install ffmpeg, or name it {path.stem}.gif"
        raise InputError(str(path), "the program ffmpeg on the PATH, which .mp4 needs", "none", advice)
    return suffix


def check_frames(result: Result, where: str) -> None:
    """Raise InputError if `result`, from `where`, keeps too few moments for a film."""
    if len(result.snapshots) < LEAST_FRAMES:
        advice = "Let the verb film run the scenario, or keep more moments by run.save_times."
        raise InputError(where, f"at least {LEAST_FRAMES} saved moments", f"{len(result.snapshots)}", advice)


def film(
    result: Result, path: str | os.PathLike[str], progress: Callable[[int, int], None] | None = None
) -> None:
    """Write the saved moments of `result` as a film to `path`, whole or not at all.

    `progress` is called after every frame with the frames done and all of them. Raises InputError for an
    unknown suffix, mp4 without ffmpeg or too few saved moments, and RunError where it cannot be written.
    """
    film_format(Path(path))
    check_frames(result, "the result")
    write_frames(frames(result), len(result.snapshots), Path(path), progress)


def write_frames(
    pictures: Iterator[Any], total: int, path: Path, progress: Callable[[int, int], None] | None = None
) -> None:
    """Write `pictures`, of which the first gives the colours and `total` follow, whole or not at all.

    Raises as `film` does.
    """
    kind = film_format(path)
    with whole_file(path) as temporary:
        write = _write_gif if kind == "gif" else _write_mp4
        write(next(pictures), _counted(pictures, total, progress), total, temporary)


def _counted(drawn: Iterator[Any], total: int, progress: Callable[[int, int], None] | None) -> Iterator[Any]:
    for done, frame in enumerate(drawn, 1):
        yield frame
        if progress is not None:
            progress(done, total)


def _write_gif(colours: Any, drawn: Iterator[Any], total: int, path: Path) -> None:
    """Frames in the `colours` of one picture, so that still parts do not flicker and pack away."""
    from PIL import Image

    palette = colours.quantize(colors=_COLOURS)
    packed = (frame.quantize(palette=palette, dither=Image.Dither.NONE) for frame in drawn)
    pauses = [round(1e3 * _PAUSE)] * (total - 1) + [round(1e3 * _LAST)]
    start = next(packed)
    # Opened here: Pillow leaves a file that it opened itself open where a frame fails.
    with path.open("wb") as file:
        start.save(
            file,
            format="GIF",
            save_all=True,
            append_images=packed,
            duration=pauses,
            loop=0,
            optimize=False,
            comment=MAKER.encode(),
        )


def _write_mp4(_: Any, drawn: Iterator[Any], total: int, path: Path) -> None:
    """Frames piped to ffmpeg; the last one is sent again until its time is over."""
    rate = round(1.0 / _PAUSE)
    width, height = (round(side * SHEET.resolution) for side in (SHEET.width, SHEET.height or 0.0))
    command = [_ENCODER, "-loglevel", "error", "-y", "-f", "rawvideo", "-pix_fmt", "rgb24"]
    command += ["-s", f"{width}x{height}", "-r", str(rate), "-i", "-", "-an", "-pix_fmt", "yuv420p"]
    command += ["-metadata", f"comment={MAKER}", "-movflags", "+faststart", "-f", "mp4", os.fspath(path)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE) as encoder:
        assert encoder.stdin is not None
        assert encoder.stderr is not None
        try:
            for number, frame in enumerate(drawn, 1):
                for _ in range(1 if number < total else round(_LAST * rate)):
                    encoder.stdin.write(frame.tobytes())
            encoder.stdin.close()
        except BrokenPipeError:
            pass  # it has stopped, and says why on its standard error
        except BaseException:
            encoder.kill()
            raise
        said = encoder.stderr.read().decode(errors="replace").strip()
    if encoder.returncode != 0:
        raise RunError(f"ffmpeg failed: {said or 'it did not say why'}. Choose a .gif instead")
