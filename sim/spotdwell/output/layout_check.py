"""Check of a layout: names, kinds, shapes and finiteness of what a store read, before it is believed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from spotdwell.base.names import MEASURES
from spotdwell.measure.interval import LEVEL
from spotdwell.measure.verdict import Word
from spotdwell.model.beam import Profile
from spotdwell.model.columns import Geometry
from spotdwell.output.layout import ENDS
from spotdwell.solve.outcome import LEDGER_TERMS, Status

Group = Mapping[str, Any]

_LATERAL = {
    Geometry.SLAB: ("column",),
    Geometry.AXISYMMETRIC: ("radius",),
    Geometry.LATTICE: ("x", "y"),
}
_EDGES = {
    Geometry.SLAB: ("x_edge", "y_edge"),
    Geometry.AXISYMMETRIC: ("radius_edge",),
    Geometry.LATTICE: ("x_edge", "y_edge"),
}
_OF_CELLS = ("temperature", "water", "conversion")
_OF_HISTORY = ("power", "crater_depth", "deepest", "peak_temperature", "surface_temperature")
_BEAM = ("beam_wavelength", "beam_radius", "beam_x", "beam_y", "beam_scan_speed")
_COST = ("steps", "stages", "cell_updates", "wall_time")
_TEXTS = ("material", "package", "setting")
_SUM = 1e-9
"""By which shares of verdicts may miss 1."""


def check_layout(attributes: Group, groups: Mapping[str, Group]) -> None:
    """Raise ValueError that names what is missing, of another kind or shape, or not finite."""
    geometry = Geometry(text_in(attributes, "geometry"))
    number_in(attributes, "symmetry", least=1.0)
    top = _group(groups, "/")
    sizes = _coordinates(top, geometry)
    _fields(top, geometry, sizes)
    _history(_group(groups, "history"))
    _numbers(_group(groups, "measures"), MEASURES, optional=True)
    _numbers(_group(groups, "ledger"), LEDGER_TERMS)
    beam = _group(groups, "beam")
    _numbers(beam, _BEAM, others=("beam_profile",))
    Profile(text_in(beam, "beam_profile"))
    _numbers(_group(groups, "cost"), _COST)
    limits = _group(groups, "limits")
    _numbers(limits, ("limit_char_thickness", "limit_aspect_ratio"), others=("limit_depth",))
    optional_in(limits, "limit_depth")
    _provenance(_group(groups, "provenance"))
    if "interval" in groups:
        _interval(groups["interval"])


def _coordinates(top: Group, geometry: Geometry) -> dict[str, int]:
    """Sizes of the dimensions."""
    sizes = {"time": axis_in(top, "time", strict=False).size}
    if sizes["time"] == 0:
        raise ValueError("there is no saved time")
    sizes["depth"] = axis_in(top, "depth_edge").size - 1
    if sizes["depth"] < 1:
        raise ValueError("there is no cell")
    array_in(top, "depth", (sizes["depth"],))
    layers, cells = len(_texts(top, "layer")), (sizes["depth"],)
    array_in(top, "layer_of_cell", cells, whole=(0, layers - 1))
    array_in(top, "initial_water", cells, least=0.0)
    for name in ("leaves_char", "liquid"):
        array_in(top, name, cells, whole=(0, 1))
    sizes["process"] = len(_texts(top, "process", needed=False))
    if len(_texts(top, "process_title", needed=False)) != sizes["process"]:
        raise ValueError("process_title has another length than process")
    for edge, name in zip(_EDGES[geometry], _LATERAL[geometry], strict=False):
        sizes[name] = axis_in(top, edge).size - 1
        if sizes[name] < 1:
            raise ValueError("there is no column")
    if geometry is Geometry.SLAB and (sizes["column"] != 1 or axis_in(top, "y_edge").size != 2):
        raise ValueError("a slab has one column")
    return sizes


def _fields(top: Group, geometry: Geometry, sizes: Mapping[str, int]) -> None:
    lateral = tuple(sizes[name] for name in _LATERAL[geometry])
    times, cells = sizes["time"], sizes["depth"]
    for name in _OF_CELLS:
        array_in(top, name, (times, *lateral, cells))
    if sizes["process"]:
        array_in(top, "damage", (times, sizes["process"], *lateral, cells))
    if "thermal_dose" in top:
        array_in(top, "thermal_dose", (times, *lateral, cells))
    array_in(top, "floor", (times, *lateral), whole=(0, cells))
    array_in(top, "crater_depth", (times, *lateral), least=0.0)


def _history(group: Group) -> None:
    rows = axis_in(group, "history_time", strict=False).size
    if _texts(group, "term") != LEDGER_TERMS:
        raise ValueError("the terms of the ledger are others")
    for name in _OF_HISTORY:
        array_in(group, name, (rows,), may_lack=name == "surface_temperature")
    array_in(group, "ledger", (rows, len(LEDGER_TERMS)))


def _provenance(group: Group) -> None:
    for name in ("scenario", "status", "verdict"):
        text_in(group, name)
    Status(group["status"])
    Word(group["verdict"])
    for name in ("reason", "note"):
        _texts(group, name, needed=False)
    for name in _TEXTS:
        if len(_texts(group, name, needed=False)) != len(_texts(group, f"{name}_text", needed=False)):
            raise ValueError(f"{name} and {name}_text have other lengths")


def _interval(group: Group) -> None:
    """Ends that ascend, or none, for measures that are known, and shares of verdicts that sum to 1."""
    known = {*MEASURES, "end", "word", "verdict_share", "draws", "level", "covers"}
    if unknown := set(group) - known:
        raise ValueError(f"names that are unknown in an interval: {sorted(unknown)[:3]}")
    if _texts(group, "end") != ENDS:
        raise ValueError("the ends of the intervals are others")
    for name in MEASURES:
        if group.get(name) is not None:
            array_in(group, name, (2,))
            if group[name][0] > group[name][1]:
                raise ValueError(f"the interval of {name} ends before it begins")
    words = _texts(group, "word", needed=False)
    if words:
        array_in(group, "verdict_share", (len(words),), least=0.0)
        if len({Word(one) for one in words}) < len(words) or abs(group["verdict_share"].sum() - 1.0) > _SUM:
            raise ValueError("the shares of the verdicts do not sum to 1")
    number_in(group, "draws", least=1.0)
    number_in(group, "level")
    if group["level"] != LEVEL or group["draws"] != int(group["draws"]):
        raise ValueError("the level or the number of draws is another")
    text_in(group, "covers")


def _group(groups: Mapping[str, Group], name: str) -> Group:
    if name not in groups:
        raise ValueError(f"the group {name} is missing")
    return groups[name]


def _taken(group: Group, name: str) -> Any:
    if name not in group:
        raise ValueError(f"{name} is missing")
    return group[name]


def text_in(group: Group, name: str) -> str:
    """The text of that name."""
    value = _taken(group, name)
    if not isinstance(value, str):
        raise ValueError(f"{name} is no text")
    return value


def _texts(group: Group, name: str, needed: bool = True) -> tuple[str, ...]:
    value = _taken(group, name) if needed else group.get(name, ())
    if not isinstance(value, tuple) or (needed and not value):
        raise ValueError(f"{name} is no list of texts")
    return value


def number_in(group: Group, name: str, least: float = -np.inf) -> None:
    """Raise ValueError unless `name` is a finite number from `least` on."""
    value = _taken(group, name)
    if not isinstance(value, (int, float)) or not np.isfinite(value) or value < least:
        raise ValueError(f"{name} is no finite number")


def optional_in(group: Group, name: str) -> None:
    """The same for what may not apply."""
    if _taken(group, name) is not None:
        number_in(group, name)


def _numbers(group: Group, names: Any, optional: bool = False, others: tuple[str, ...] = ()) -> None:
    """Numbers by exactly these names; with `optional`, those that do not apply may be None."""
    if set(group) != {*names, *others}:
        raise ValueError(f"names that are missing or unknown: {sorted({*names, *others} ^ set(group))[:3]}")
    for name in names:
        (optional_in if optional else number_in)(group, name)


def axis_in(group: Group, name: str, strict: bool = True) -> Any:
    """A coordinate that ascends. Raises ValueError for another."""
    value = _taken(group, name)
    if not isinstance(value, np.ndarray) or value.ndim != 1:
        raise ValueError(f"{name} is no list of numbers")
    array_in(group, name, value.shape)
    steps = np.diff(value)
    if np.any(steps <= 0.0 if strict else steps < 0.0):
        raise ValueError(f"{name} does not ascend")
    return value


def array_in(
    group: Group,
    name: str,
    shape: tuple[int, ...],
    whole: tuple[int, int] | None = None,
    least: float = -np.inf,
    may_lack: bool = False,
) -> None:
    """Raise ValueError unless it is an array of this `shape`.

    Of finite numbers of 8 bytes from `least` on, or of whole ones within the limits `whole`.
    """
    value = _taken(group, name)
    kinds = "iu" if whole else "f"
    if not isinstance(value, np.ndarray) or value.dtype.kind not in kinds:
        raise ValueError(f"{name} holds no {'whole ' if whole else ''}numbers")
    if value.shape != shape:
        raise ValueError(f"{name} has the shape {value.shape} and not {shape}")
    if whole:
        if value.size and not (whole[0] <= value.min() and value.max() <= whole[1]):
            raise ValueError(f"{name} is not within {whole[0]} and {whole[1]}")
        return
    if value.dtype != np.float64:
        raise ValueError(f"{name} has numbers of another size")
    sound = np.isfinite(value) | (may_lack & np.isnan(value))
    if not np.all(sound) or np.any(value < least):
        raise ValueError(f"{name} is not finite or too small")
