"""A slab so small that it is solved in a moment, and the command line called as a function."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from spotdwell.cli import main

SLAB = """
title = "A tiny slab"

[beam]
wavelength = "10.6 um"
power = "20 W"

[exposure]
dwell_time = "5 ms"

[target]
[[target.layers]]
material = "soft_tissue"

[run]
end_time = "8 ms"

[grid]
geometry = "slab"
area = "1 mm2"
cell_depth = "5 um"
depth = "1 mm"
"""

ACRYLIC_SHEET = """
[beam]
wavelength = "10.6 um"
power = "100 W"

[exposure]
dwell_time = "20 ms"

[target]
[[target.layers]]
material = "pmma"
thickness = "0.1 mm"

[grid]
geometry = "slab"
area = "1 mm2"
cell_depth = "5 um"
"""

LONG_TRAIN = """
[beam]
wavelength = "10.6 um"
power = "4 W"
diameter = "1 mm"

[exposure]
on_time = "10 ms"
off_time = "90 ms"
count = 200

[target]
[[target.layers]]
material = "soft_tissue"
"""


@dataclass(frozen=True)
class Answer:
    """What a command left: exit code and texts."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str]) -> Callable[..., Answer]:
    """Runs the command line with these arguments."""

    def called(*arguments: str | Path) -> Answer:
        code = main([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return Answer(code, captured.out, captured.err)

    return called


@pytest.fixture
def slab(tmp_path: Path) -> Path:
    path = tmp_path / "slab.toml"
    path.write_text(SLAB)
    return path


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """An insulated sheet that the beam gets through: a run that must fail."""
    path = tmp_path / "sheet.toml"
    path.write_text(ACRYLIC_SHEET)
    return path


@pytest.fixture
def train(tmp_path: Path) -> Path:
    """A run of minutes."""
    path = tmp_path / "train.toml"
    path.write_text(LONG_TRAIN)
    return path
