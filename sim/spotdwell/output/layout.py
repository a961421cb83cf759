"""Layout: a result as groups of labelled arrays, and back. What the store writes, free of any file format.

- `/` fields at the saved times over (time, column or radius or x and y, depth), and the grid's edges;
- `history` rows of every kept step over history_time; `measures`, `ledger`, `beam`, `cost` numbers;
- `provenance` scenario, materials, versions, verdict and notes as text; `limits` the limits of the verdict;
- `interval`, where draws were run: both ends for each measure, share of each verdict, what they cover.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from dataclasses import fields as dataclass_fields
from typing import Any

import numpy as np

from spotdwell.base.names import FIELDS, LEDGER, MEASURES, Quantity
from spotdwell.measure.interval import LEVEL, Interval
from spotdwell.measure.verdict import Limits, Verdict, Word
from spotdwell.model.columns import Geometry
from spotdwell.output.record import Record
from spotdwell.solve.outcome import LEDGER_TERMS, History, Snapshot

_LATERAL = {
    Geometry.SLAB: ("column",),
    Geometry.AXISYMMETRIC: ("radius",),
    Geometry.LATTICE: ("x", "y"),
}
"""Names of the lateral dimensions."""

_FIELDS_OF_CELLS = ("temperature", "water", "conversion")

_HISTORY = {
    "power": ("W", "power of the beam during the step that ended here"),
    "crater_depth": ("m", "depth of the crater at the beam's axis"),
    "deepest": ("m", "deepest point of the crater"),
    "peak_temperature": ("K", "highest temperature of what is left"),
    "surface_temperature": ("K", "temperature of the exposed cell on the axis"),
}

_BEAM_UNITS = {"wavelength": "m", "radius": "m", "x": "m", "y": "m", "scan_speed": "m/s"}

_LIMITS = {
    "char_thickness": MEASURES["char_thickness_floor"],
    "depth": MEASURES["deepest"],
}
"""Units of the verdict's limits; the others have none."""


@dataclass(frozen=True, eq=False)
class Labelled:
    """A number, a text, or an array of either over named dimensions; None where it does not apply."""

    name: str
    values: Any
    dims: tuple[str, ...] = ()
    unit: str = ""
    meaning: str = ""

    @property
    def is_coordinate(self) -> bool:
        """Whether it labels the dimension of its own name."""
        return self.dims == (self.name,)


Groups = dict[str, list[Labelled]]
Read = Mapping[str, Mapping[str, Any]]
"""Values by group and name, as a store hands them back."""


def attributes_of(result: Record) -> dict[str, str | float]:
    """What describes the result as a whole."""
    return {"title": result.title, "geometry": str(result.geometry), "symmetry": float(result.symmetry)}


def groups_of(result: Record) -> Groups:
    """All arrays of `result` by group, coordinates before what they label, empty ones left out."""
    groups = {
        "/": _grid(result) + _fields(result),
        "history": _history(result.history),
        "measures": _numbers(result.measures, MEASURES),
        "ledger": _numbers(result.ledger, LEDGER),
        "beam": _prefixed("beam", _beam(result)),
        "cost": [Labelled(n, v, (), "s" if n == "wall_time" else "1") for n, v in result.cost.items()],
        "provenance": _provenance(result),
        "limits": _prefixed("limit", _numbers(_limits(result.verdict.limits), _LIMITS)),
    }
    if result.interval is not None:
        groups["interval"] = _interval(result.interval)
    return {group: [item for item in items if np.size(item.values)] for group, items in groups.items()}


def _axis(name: str, values: Any, unit: str = "", meaning: str = "") -> Labelled:
    return Labelled(name, values, (name,), unit, meaning)


def _centres(edges: Any) -> Any:
    return 0.5 * (edges[1:] + edges[:-1])


def _grid(result: Record) -> list[Labelled]:
    cells = ("depth",)
    return [
        _axis("time", np.array([s.time for s in result.snapshots]), "s", "time from the start"),
        *_lateral_axes(result),
        _axis("depth", _centres(result.depth_edges), "m", "depth below the untouched surface"),
        _axis("depth_edge", result.depth_edges, "m", "depths that bound the cells"),
        _axis("layer", result.layer_names, "", "material of each layer"),
        _axis("process", result.damage_names, "", "rate process of thermal damage"),
        Labelled("process_title", result.damage_titles, ("process",), "", "title of the process"),
        Labelled("layer_of_cell", result.layer_of_cell, cells, "1", "index of the layer"),
        Labelled("initial_water", result.initial_water, cells, "kg/m3", "free water before the shot"),
        Labelled("leaves_char", result.leaves_char.astype("i1"), cells, "1", "1 where solid turns to char"),
        Labelled("liquid", result.liquid.astype("i1"), cells, "1", "1 where there are no solids"),
    ]


def _lateral_axes(result: Record) -> list[Labelled]:
    if result.geometry is Geometry.AXISYMMETRIC:
        return [
            _axis("radius", _centres(result.x_edges), "m", "distance from the axis"),
            _axis("radius_edge", result.x_edges, "m", "radii that bound the rings"),
        ]
    edges = [
        _axis("x_edge", result.x_edges, "m", "edges of the columns along x"),
        _axis("y_edge", result.y_edges, "m", "edges of the columns along y"),
    ]
    if result.geometry is Geometry.SLAB:
        return [_axis("column", np.arange(result.x_edges.size - 1), "1", "index of the column"), *edges]
    return [
        _axis("x", _centres(result.x_edges), "m", "position along x"),
        _axis("y", _centres(result.y_edges), "m", "position along y"),
        *edges,
    ]


def _fields(result: Record) -> list[Labelled]:
    lateral, lattice = _LATERAL[result.geometry], result.geometry is Geometry.LATTICE
    nx, ny = result.x_edges.size - 1, result.y_edges.size - 1
    sizes = {"process": len(result.damage_names), "depth": result.depth_edges.size - 1}
    sizes |= dict(zip(lateral, (nx, ny) if lattice else (nx,), strict=True))

    def field(name: str, *dims: str) -> Labelled:
        values = np.stack([getattr(snapshot, name) for snapshot in result.snapshots])
        shaped = values.reshape(-1, *(sizes[dim] for dim in dims)) if values.size else values
        return Labelled(name, shaped, ("time", *dims), FIELDS[name].unit, FIELDS[name].meaning)

    found = [field(name, *lateral, "depth") for name in _FIELDS_OF_CELLS]
    found.append(field("damage", "process", *lateral, "depth"))
    if all(snapshot.thermal_dose is not None for snapshot in result.snapshots):
        found.append(field("thermal_dose", *lateral, "depth"))
    return [*found, field("floor", *lateral), field("crater_depth", *lateral)]


def _history(history: History) -> list[Labelled]:
    # Not "time": groups inherit the fields' coordinate of that name.
    rows = ("history_time",)
    named = [Labelled(n, getattr(history, n), rows, unit, text) for n, (unit, text) in _HISTORY.items()]
    return [
        _axis("history_time", history.time, "s", "time from the start"),
        _axis("term", LEDGER_TERMS, "", "term of the energy ledger"),
        *named,
        Labelled("ledger", history.ledger, (*rows, "term"), "J", "running sums of the energy ledger"),
    ]


def _numbers(values: Mapping[str, float | None], table: Mapping[str, Quantity]) -> list[Labelled]:
    known = {name: (table[name].unit, table[name].meaning) for name in values if name in table}
    return [Labelled(name, value, (), *known.get(name, ("1", ""))) for name, value in values.items()]


def _beam(result: Record) -> list[Labelled]:
    return [Labelled(name, value, (), _BEAM_UNITS.get(name, "")) for name, value in result.beam.items()]


def _limits(limits: Limits) -> dict[str, float | None]:
    return {item.name: getattr(limits, item.name) for item in dataclass_fields(limits)}


def _prefixed(kind: str, items: list[Labelled]) -> list[Labelled]:
    """The items as kind_name: a number called radius or depth would hide the dimension of that name."""
    return [replace(item, name=f"{kind}_{item.name}") for item in items]


def _unprefixed(kind: str, group: Mapping[str, Any]) -> dict[str, Any]:
    return {name.removeprefix(f"{kind}_"): value for name, value in group.items()}


def _provenance(result: Record) -> list[Labelled]:
    return [
        Labelled("scenario", result.scenario_text, (), "", "scenario as it was read"),
        Labelled("status", result.status, (), "", "how the run ended"),
        Labelled("verdict", str(result.verdict.word), (), "", "verdict on the result"),
        _axis("reason", result.verdict.reasons, "", "what led to the verdict"),
        _axis("note", result.notes, "", "choices of the grid and cautions"),
        *_texts("material", result.materials),
        *_texts("package", result.versions),
        *_texts("setting", result.setting),
    ]


END, ENDS = "end", ("5 %", "95 %")
"""Dimension of the two ends of an interval, and what they are called."""


def _interval(found: Interval) -> list[Labelled]:
    words, shares = tuple(found.words), tuple(found.words.values())
    measures = [
        Labelled(name, ends, (END,) if ends else (), MEASURES[name].unit, MEASURES[name].meaning)
        for name, ends in found.measures.items()
    ]
    return [
        _axis(END, ENDS, "", "share of the draws that lies below"),
        *measures,
        _axis("word", words, "", "verdict of a draw"),
        Labelled("verdict_share", shares, ("word",), "1", "share of the draws with each verdict"),
        Labelled("draws", float(found.draws), (), "1", "sets of material values"),
        Labelled("level", LEVEL, (), "1", "share of the draws between the two ends"),
        Labelled("covers", found.covers, (), "", "what the intervals hold and what they do not"),
    ]


def _texts(kind: str, texts: Mapping[str, str]) -> list[Labelled]:
    """A mapping as two arrays: its names are the user's, and a store may not take each as its own."""
    names, values = tuple(texts), tuple(texts.values())
    return [_axis(kind, names, "", f"name of each {kind}"), Labelled(f"{kind}_text", values, (kind,))]


def fields_from(attributes: Mapping[str, Any], groups: Read) -> dict[str, Any]:
    """Fields of the record with these attributes and groups. Raises KeyError or ValueError if one lacks."""
    geometry = Geometry(attributes["geometry"])
    ring = geometry is Geometry.AXISYMMETRIC
    top, provenance = groups["/"], groups["provenance"]
    return {
        "geometry": geometry,
        "x_edges": top["radius_edge" if ring else "x_edge"],
        "y_edges": np.array([0.0, 1.0]) if ring else top["y_edge"],
        "depth_edges": top["depth_edge"],
        "layer_of_cell": top["layer_of_cell"],
        "symmetry": float(attributes["symmetry"]),
        "layer_names": top["layer"],
        "initial_water": top["initial_water"],
        "leaves_char": top["leaves_char"].astype(bool),
        "liquid": top["liquid"].astype(bool),
        "damage_names": top.get("process", ()),
        "damage_titles": top.get("process_title", ()),
        "snapshots": _read_snapshots(top),
        "history": _read_history(groups["history"]),
        "ledger": dict(groups["ledger"]),
        "measures": dict(groups["measures"]),
        "verdict": _read_verdict(provenance, groups["limits"]),
        "notes": provenance.get("note", ()),
        "status": provenance["status"],
        "cost": dict(groups["cost"]),
        "beam": _unprefixed("beam", groups["beam"]),
        "setting": _read_texts(provenance, "setting"),
        "scenario_text": provenance["scenario"],
        "materials": _read_texts(provenance, "material"),
        "versions": _read_texts(provenance, "package"),
        "interval": _read_interval(groups["interval"]) if "interval" in groups else None,
    }


def _read_snapshots(top: Mapping[str, Any]) -> tuple[Snapshot, ...]:
    times, cells = top["time"].size, top["depth"].size
    columns = top["floor"][0].size
    named = {name: top[name].reshape(times, columns, cells) for name in _FIELDS_OF_CELLS}
    named["damage"] = top.get("damage", np.zeros((times, 0))).reshape(
        times, len(top.get("process", ())), columns, cells
    )
    if "thermal_dose" in top:
        named["thermal_dose"] = top["thermal_dose"].reshape(times, columns, cells)
    named |= {name: top[name].reshape(times, columns) for name in ("floor", "crater_depth")}
    return tuple(
        Snapshot(float(time), **{name: values[i] for name, values in named.items()})
        for i, time in enumerate(top["time"])
    )


def _read_history(group: Mapping[str, Any]) -> History:
    return History(group["history_time"], ledger=group["ledger"], **{name: group[name] for name in _HISTORY})


def _read_verdict(provenance: Mapping[str, Any], limits: Mapping[str, Any]) -> Verdict:
    known = Limits(**_unprefixed("limit", limits))
    return Verdict(Word(provenance["verdict"]), provenance.get("reason", ()), known)


def _read_interval(group: Mapping[str, Any]) -> Interval:
    ends = {name: group[name] for name in MEASURES if name in group}
    shares = group.get("verdict_share", np.zeros(0)).tolist()
    return Interval(
        {name: None if one is None else (float(one[0]), float(one[1])) for name, one in ends.items()},
        dict(zip(group.get("word", ()), shares, strict=True)),
        int(group["draws"]),
        group["covers"],
    )


def _read_texts(group: Mapping[str, Any], kind: str) -> dict[str, str]:
    return dict(zip(group.get(kind, ()), group.get(f"{kind}_text", ()), strict=True))
