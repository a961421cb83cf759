"""Film files: frames as an animated GIF through Pillow, or as MP4 through ffmpeg where that is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from spotdwell.base.errors import InputError, RunError
from spotdwell.output.pictures.film import SHEET, frames
from spotdwell.output.replacing import MAKER
from spotdwell.output.result import Result
from spotdwell.output.whole_file import whole_file

FORMATS = ("gif", "mp4")
LEAST_FRAMES = 2

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
    path = Path(path)
    kind = film_format(path)
    check_frames(result, "the result")
    total, pictures = len(result.snapshots), frames(result)
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
