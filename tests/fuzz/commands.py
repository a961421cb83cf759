"""Command lines: words of every verb with something wrong, called as a function; and kills, as processes."""

from __future__ import annotations

import contextlib
import io
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from cases import NASTY, Tally

from inputs import CRATERS, LASER, SHOTS, TINY
from spotdwell.base.errors import SpotdwellError
from spotdwell.base.foreign import is_clean
from spotdwell.cli import main
from spotdwell.maps.store import load_cube
from spotdwell.output.result import load

SLAB = TINY.replace('[[target.layers]]\nmaterial = "mine"', '[[target.layers]]\nmaterial = "soft_tissue"')
SHOT = [
    "shot", "--on", "skin", "--power", "5 W", "--spot", "0.5 mm", "--dwell", "1 ms", "--end-time", "2 ms",
    "--cell-depth", "20 um", "--cell-width", "60 um", "--quiet",
]  # fmt: skip
LINES: tuple[list[str], ...] = (
    SHOT,
    [*SHOT, "--out", "{new}.h5", "--picture", "{new}.png"],
    [*SHOT, "--json"],
    [*SHOT, "--title", "x", "--char-limit", "20 um", "--backing", "insulated", "--film", "50 um"],
    [*SHOT, "--count", "2", "--pause", "1 ms", "--save-times", "0.5 ms, 1 ms"],
    ["run", "{slab}", "--quiet"],
    ["run", "{slab}", "--out", "{new}.h5", "--picture", "{new}.svg"],
    ["plot", "{result}", "--cross-section", "{new}.png", "--history", "{new}.svg", "--at", "1 ms"],
    ["plot", "{result}", "--contours", "60, 100 degC", "--cross-section", "{new}.pdf", "--size", "slide"],
    ["report", "{result}", "--html", "{new}.html", "--quiet"],
    ["page", "{map}", "--out", "{new}.html"],
    ["spot", "--focal-length", "125 mm", "--input-diameter", "10 mm", "--power", "25 W", "--wanted",
     "1.6 mm"],
    ["spot", "--focal-length", "125 mm", "--input-diameter", "10 mm", "--defocus", "2 mm", "--json"],
    ["craters", "{craters}", "--save", "{new}.toml", "--wavelength", "10.6 um"],
    ["craters", "{craters}", "--picture", "{new}.png"],
    ["list", "materials", "skin"],
    ["list", "scenarios", "spot"],
    ["list", "materials"],
    ["schema"],
    ["--version"],
    ["map", "--on", "skin", "--spot", "0.5 mm", "--over", "power: 5 W, 10 W", "--over", "dwell: 1 ms, 2 ms",
     "--end-time", "3 ms", "--cell-depth", "20 um", "--cell-width", "60 um", "--workers", "1", "--quiet",
     "--out", "{new}.h5", "--table", "{new}.csv"],
    ["selfcheck", "no-such-check", "x"],
    ["calibrate", "{shots}", "--on", "apple", "--laser", "{laser}", "--fix", "delivered-share=x"],
    ["card", "--on", "apple", "--power", "5 W", "--dwell", "1 s", "--spot", "x", "--csv", "{new}.csv"],
    ["compare", "--on", "skin", "--spot", "0", "--average-power", "1 W", "--time", "1 s"],
    ["size", "--on", "skin", "--power", "5 W", "--depth", "300 um", "--dwell", "x"],
    ["film", "{slab}", "--out", "{new}.gif", "--quiet"],
)  # fmt: skip
_CODES = {0, 1, 2}


class Shelf:
    """Files that command lines name, in a folder of their own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._number = 0
        self.files = {
            "slab": folder / "slab.toml",
            "laser": folder / "laser.toml",
            "shots": folder / "shots.csv",
            "craters": folder / "craters.csv",
            "result": folder / "result.h5",
            "map": folder / "map.h5",
        }
        for name, text in (("slab", SLAB), ("laser", LASER), ("shots", SHOTS), ("craters", CRATERS)):
            self.files[name].write_text(text, encoding="utf-8")
        assert called(["run", str(self.files["slab"]), "--out", str(self.files["result"]), "--quiet"])[0] == 0
        line = [*LINES[20][:-4], "--out", str(self.files["map"])]
        assert called(line)[0] == 0

    def line(self, words: list[str]) -> list[str]:
        """`words` with the names of files in place; new ones have a name of their own."""
        self._number += 1
        names = {name: str(path) for name, path in self.files.items()}
        names["new"] = str(self.folder / f"new{self._number}")
        return [_filled(word, names) for word in words]

    def partial(self) -> list[str]:
        """Files that are not whole."""
        found = [path.name for path in self.folder.iterdir() if path.name.endswith(".part")]
        for path in self.folder.glob("new*.h5"):
            if not (_loads(load, path) or _loads(load_cube, path)):
                found.append(path.name)
        return found


def _filled(word: str, names: dict[str, str]) -> str:
    for name, path in names.items():
        word = word.replace("{" + name + "}", path)
    return word


def _loads(way: object, path: Path) -> bool:
    try:
        way(path)  # type: ignore[operator]
    except SpotdwellError:
        return False
    return True


def called(words: list[str]) -> tuple[int, str, str]:
    """Exit code, output and messages of a command line in this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(words)
    return code, out.getvalue(), err.getvalue()


def fuzz_commands(count: int, seed: int) -> Tally:
    """`count` command lines, nine of ten with something wrong."""
    chance, tally = random.Random(seed), Tally("command lines")
    with tempfile.TemporaryDirectory() as place:
        shelf = Shelf(Path(place))
        for _ in range(count):
            words = list(chance.choice(LINES))
            for _ in range(chance.choice((0, 1, 1, 1, 1, 2, 2, 3))):
                words = _spoilt(words, chance)
            line = shelf.line(words)
            found = tally.judge(f"line {line!r}", lambda line=line: called(line))
            if found is not None:
                code, out, err = found
                tally.refused += code != 0
                if code not in _CODES:
                    tally.miss(repr(line), f"exit code {code}")
                if "Traceback" in out + err or not is_clean(out) or not is_clean(err):
                    tally.miss(repr(line), f"not clean: {out[-300:]!r} {err[-300:]!r}")
        if bad := shelf.partial():
            tally.miss("files after all", f"not whole: {bad}")
    return tally


def _spoilt(words: list[str], chance: random.Random) -> list[str]:
    if not words:
        return ["run"]
    at = chance.randrange(len(words))
    how = chance.randrange(6)
    if how <= 2:
        value = chance.choice(NASTY)
        return [*words[:at], value, *words[at + 1 :]]
    if how == 3:
        return words[:at] + words[at + 1 :]
    if how == 4:
        other = chance.choice(LINES)
        return [*words[:at], chance.choice(other), *words[at:]]
    return [*words, chance.choice(("--force", "--quiet", "--json", "--bogus", "-h", words[at]))]


def fuzz_kills(count: int, seed: int) -> Tally:
    """`count` processes that a signal ends while they work: files stay whole, as before, or absent."""
    chance, tally = random.Random(seed), Tally("kills")
    ways = [signal.SIGTERM, signal.SIGINT, signal.SIGKILL]
    with tempfile.TemporaryDirectory() as place:
        shelf = Shelf(Path(place))
        for number in range(count):
            words = list(chance.choice((LINES[1], LINES[6], LINES[20], LINES[5])))
            line = shelf.line(words)
            way = ways[number % len(ways)]
            tally.cases += 1
            code, err = _killed(line, way, chance.uniform(0.05, 2.5))
            if way is not signal.SIGKILL:
                allowed = {0, 130 if way is signal.SIGINT else 143}
                # Before the program's entry is reached it is Python that ends, by the signal and in its way.
                early = code == -way and "entry.py" not in err and "cli.py" not in err
                if not early and (code not in allowed or "Traceback" in err):
                    tally.miss(f"{way.name} {line!r}", f"exit code {code}: {err[-800:]}")
                left = [path for path in shelf.folder.iterdir() if path.name.endswith(".part")]
                if left:
                    tally.miss(f"{way.name} {line!r}", f"left {left}")
            for path in shelf.folder.glob(".*.part"):
                path.unlink()
            if bad := shelf.partial():
                tally.miss(f"{way.name} {line!r}", f"not whole: {bad}")
                break
    return tally


def _killed(line: list[str], way: signal.Signals, after: float) -> tuple[int, str]:
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    process = subprocess.Popen(
        [sys.executable, "-m", "spotdwell", *line],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    time.sleep(after)
    process.send_signal(way)
    try:
        _, err = process.communicate(timeout=60)
    except subprocess.TimeoutExpired:
        process.kill()
        _, err = process.communicate()
        return -999, f"it did not end: {err}"
    return process.returncode, err
