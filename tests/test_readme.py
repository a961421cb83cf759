"""Every command of the README, shell and Python, as it stands there, in order and in one folder.

Left out by rule: what makes an environment or runs the tests, that is commands with `venv`, `pip` or
`pytest`, which `.ci/run` does from nothing; and `selfcheck --full`, which takes minutes and has a test of
its own. The files of measurements that the README describes are made here.
"""

from __future__ import annotations

import os
import re
import shlex
import signal
import subprocess
import sys
from pathlib import Path

import pytest

README = Path(__file__).parents[1] / "README.md"
FENCE = re.compile(r"^```(\w+)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
INSTALLED = ".venv/bin/spotdwell"
OF_ANOTHER_TEST = {"venv", "pip", "pytest", "--full"}
CRATERS = """pulse energy [mJ], crater diameter [um]
20, 260
40, 402
80, 505
160, 592
320, 668
"""
SHOTS = """power [W], dwell [ms], spot [mm], depth [um]
6, 5, 0.5, 43
10, 5, 0.5, 78
10, 10, 0.5, 155
20, 5, 0.5, 168
20, 10, 0.5, 330
"""


MEASURED = {"craters": ("craters.csv", CRATERS), "calibrate": ("shots.csv", SHOTS)}
"""What a person measures and fills in before a verb."""


def commands(text: str) -> list[tuple[str, str]]:
    """Kind and text of each command, in order: lines of the shell, and blocks of Python."""
    found = []
    for kind, block in FENCE.findall(text):
        if kind == "python":
            found.append((kind, block))
        elif kind == "sh":
            lines = block.replace("\\\n", " ").splitlines()
            parts = (part.strip() for line in lines for part in line.split("&&"))
            found += [(kind, part) for part in parts if part]
    return found


def is_of_another_test(command: str) -> bool:
    return not OF_ANOTHER_TEST.isdisjoint(Path(word).name for word in shlex.split(command, comments=True))


COMMANDS = commands(README.read_text(encoding="utf-8"))
MINE = [one for one in COMMANDS if one[0] == "python" or not is_of_another_test(one[1])]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("readme")


def test_readme_has_commands_and_only_known_kinds_of_blocks():
    assert len(MINE) > 15 and len(COMMANDS) > len(MINE)
    assert {kind for kind, _ in FENCE.findall(README.read_text(encoding="utf-8"))} == {"sh", "python"}
    assert all(INSTALLED in text for kind, text in MINE if kind == "sh")


def serve_and_end(command, folder):
    """A page that is served until Ctrl-C, which ends it well."""
    served = subprocess.Popen(
        shlex.split(command),
        cwd=folder,
        stdout=subprocess.PIPE,
        text=True,
        # A job in the background would ignore it.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    try:
        assert "http://127.0.0.1:" in served.stdout.readline()
        served.send_signal(signal.SIGINT)
        assert served.wait(timeout=60) == 0
    finally:
        served.kill()
        served.stdout.close()


@pytest.mark.compiled
def test_every_command_of_the_readme_works_in_its_order(folder):
    program = f"{shlex.quote(sys.executable)} -m spotdwell"
    for kind, text in MINE:
        if kind == "sh" and (filled := MEASURED.get(shlex.split(text)[1])):
            (folder / filled[0]).write_text(filled[1])
        command = [sys.executable, "-c", text] if kind == "python" else text.replace(INSTALLED, program)
        if kind == "sh" and "live" in shlex.split(text)[1:2]:
            serve_and_end(command, folder)
            continue
        done = subprocess.run(
            command,
            shell=kind == "sh",
            cwd=folder,
            capture_output=True,
            text=True,
            timeout=300,
            env={name: value for name, value in os.environ.items() if name != "NUMBA_DISABLE_JIT"},
        )
        assert done.returncode == 0, f"{text}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
        assert "Traceback" not in done.stderr
