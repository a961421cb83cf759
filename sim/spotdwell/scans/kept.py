"""Kept: a file that a run or a scan wrote, read back as what it was."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Any

import numpy as np

from spotdwell.inputs.scan import Model
from spotdwell.output.layout_check import array_in, axis_in, number_in, optional_in, text_in
from spotdwell.output.result import Result
from spotdwell.scans.measures import Surface
from spotdwell.scans.result import ScanResult
from spotdwell.scans.words import LAYERS, SCAN_MEASURES

GROUP = "scan"
"""Of the file: what only a scan has."""
_NEEDED = tuple(name for name in SCAN_MEASURES if name not in ("ripple", "energy_per_volume", "peclet"))
"""Measures that apply to every scan."""


def load(path: str | os.PathLike[str]) -> Result | ScanResult:
    """The result of a run, or of a scan, kept at `path`, equal to the one saved.

    Raises InputError if there is no such file, or it is no result, damaged, changed or of another format.
    """
    from spotdwell.output.store import load_with

    fields, found = load_with(path, GROUP, scan_from)
    return Result(**fields) if found is None else found


def scan_from(fields: dict[str, Any], group: Mapping[str, Any]) -> ScanResult:
    """The scan whose record has these `fields`, from the values of its group by name.

    Raises ValueError that names what is missing, of another kind or shape, or not finite.
    """
    x_edges, y_edges = fields["x_edges"], fields["y_edges"]
    shape = x_edges.size - 1, y_edges.size - 1
    _check(group, shape)
    top = Surface(
        group["column_x"],
        group["column_y"],
        group["depth_below_surface"],
        {name: group[f"{name}_below_floor"] for name in LAYERS},
        group["inside"].astype(bool),
        group["edge"].astype(bool),
        np.diff(x_edges)[:, None] * np.diff(y_edges),
    )
    return ScanResult(
        Result(**fields),
        group["model"],
        {name: group[f"scan_{name}"] for name in SCAN_MEASURES},
        top,
        (float(group["length"]), float(group["width"])),
        group["line_y"],
        group["line_time"],
        group["line_meets"],
        bool(group["within"]),
        group["coagulation_limit"],
    )


def _check(group: Mapping[str, Any], shape: tuple[int, int]) -> None:
    Model(text_in(group, "model"))
    for name in ("length", "width", "within"):
        number_in(group, name, least=0.0)
    for name in ("coagulation_limit", *(f"scan_{name}" for name in SCAN_MEASURES)):
        optional_in(group, name)
    for name in _NEEDED:
        number_in(group, f"scan_{name}")
    for name, size in zip(("column_x", "column_y"), shape, strict=True):
        axis_in(group, name)
        array_in(group, name, (size,))
    for name in ("depth_below_surface", *(f"{layer}_below_floor" for layer in LAYERS)):
        array_in(group, name, shape, least=0.0)
    for name in ("inside", "edge"):
        array_in(group, name, shape, whole=(0, 1))
    lines = axis_in(group, "line_time", strict=False).shape
    for name in ("line_y", "line_meets"):
        array_in(group, name, lines)
