"""A map shown and written: on the screen, as CSV, pictures and files."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rich.console import RenderableType
from rich.text import Text

from spotdwell.base.errors import InputError, RunError
from spotdwell.base.names import AXES, MEASURES
from spotdwell.base.units import chosen, parse
from spotdwell.console.progress import Watch, time_text
from spotdwell.console.saving import Files, stopped
from spotdwell.console.screen import Interrupted, mention
from spotdwell.console.text import heading, indented, microns, plain_table, shown
from spotdwell.inputs.schema import Scenario
from spotdwell.maps.bands_shown import ODDS_KEY, ODDS_TITLE, along, bands_plain, tenths
from spotdwell.maps.choice import Choice, number_of, setting_text
from spotdwell.maps.choice import shown as shown_value
from spotdwell.maps.cost import foreseen, probe_points, with_intervals
from spotdwell.maps.cube import FAILED, Cube
from spotdwell.maps.curves import CURVES
from spotdwell.maps.picture import draw_map
from spotdwell.maps.plan import MapPlan
from spotdwell.maps.run import map_of, point_of
from spotdwell.maps.table import write_table
from spotdwell.maps.view import View, check_panels, choice_text, joined, limits_text, view_of
from spotdwell.maps.window import check_depth, cleanest
from spotdwell.measure.verdict import Limits, Word
from spotdwell.output.whole_file import MAP
from spotdwell.pipeline import scenario_at_path
from spotdwell.spread.brief import FEW

SIGNS = {
    str(Word.UNMARKED): ".",
    str(Word.DRIED): ",",
    str(Word.COAGULATED): "o",
    str(Word.SCORCHED): "%",
    str(Word.CHARRED): "#",
    str(Word.CLEAN): "+",
    str(Word.UNVERIFIED): "~",
    str(Word.PERFORATED): "|",
    str(Word.TOO_DEEP): "v",
    FAILED: "x",
    "": "?",
}
"""One for each verdict, told apart without colour."""
_CHOSEN = "@"
_MEANINGS = {"": "not computed"}
_MOST_GRIDS = 6
_LEAST_COLUMNS = 10
_SPANS = ("crater_depth", "coagulation_thickness_floor", "char_thickness_floor")
_SPAN_WORDS = ("crater depth", "coagulated under it", "char under it")


def map_text(cube: Cube, choice: Choice | None, wanted: float | None) -> list[RenderableType]:
    """All that a map found, to be printed; `wanted` is the depth [m] for which a setting was sought."""
    return [
        heading(_title(cube)),
        *([Text(_setting(cube))] if cube.setting else []),
        Text(f"Limits: {_ascii(limits_text(cube.limits))}."),
        *(_along(cube) if len(cube.axes) == 1 else _grids(cube, choice)),
        Text(),
        heading(f"What each verdict spans [{chosen('m', 'um')}]"),
        indented(_spans(cube)),
        *(Text(line) for line in failure_lines(cube)),
        *(_choice_lines(cube, choice, wanted)),
        *([] if cube.bands is None else [Text(), Text(cube.bands.covers)]),
    ]


def plain_of(cube: Cube, choice: Choice | None) -> dict[str, Any]:
    """All points in SI, of types that JSON knows: arrays have an axis for each setting, in their order."""
    limits = cube.limits
    return {
        "setting": dict(cube.setting),
        "axes": {
            axis.name: {"unit": AXES[axis.name].unit, "values": _listed(axis.values)} for axis in cube.axes
        },
        "limits": {name: getattr(limits, name) for name in ("char_thickness", "depth", "aspect_ratio")},
        "verdict": cube.word.tolist(),
        "failure": cube.failure.tolist(),
        "measures": {name: _listed(cube.measures[name]) for name in MEASURES},
        "units": {name: one.unit for name, one in MEASURES.items()},
        **({} if cube.bands is None else {"intervals": bands_plain(cube.bands, _listed)}),
        "cleanest": None
        if choice is None
        else {
            "depth": choice.depth,
            "setting": choice.point,
            "between": choice.between,
            "word": str(choice.word),
            "measures": choice.measures,
        },
    }


def _listed(values: Any) -> Any:
    """Lists of numbers or words, None for what does not apply."""
    if isinstance(values, (list, tuple)) or np.ndim(values):
        return [_listed(one) for one in values]
    if isinstance(values, str):
        return str(values)
    return float(values) if np.isfinite(values) else None


def short_text(cube: Cube, choice: Choice | None, wanted: float | None) -> str:
    """How often each verdict fell and the cleanest setting, in a line or two."""
    counts = [f"{_name(word)} {count}" for word in SIGNS if (count := int(np.sum(cube.word == word)))]
    lines = [f"{cube.word.size} points: {', '.join(counts)}"]
    return "\n".join([*lines, *(line.plain for line in _choice_lines(cube, choice, wanted) if line.plain)])


def failure_lines(cube: Cube) -> list[str]:
    """How many points failed, with where and why the first did; empty if none."""
    failed = np.argwhere(cube.failed)
    if not len(failed):
        return []
    index = tuple(int(one) for one in failed[0])
    place = ", ".join(
        f"{axis.name} {shown_value(axis, axis.values[one])}"
        for axis, one in zip(cube.axes, index, strict=True)
    )
    count = "1 point" if len(failed) == 1 else f"{len(failed)} points"
    return ["", f"{count} failed; the first, {place}: {cube.failure[index]}"]


def _title(cube: Cube) -> str:
    sizes = " x ".join(str(size) for size in cube.shape)
    return f"Map over {joined([axis.name for axis in cube.axes])}: {sizes} points"


def _setting(cube: Cube) -> str:
    return ", ".join(f"{name} {value}" for name, value in cube.setting.items() if name != "title")


def _ascii(text: str) -> str:
    return text.replace("µ", "u")


def _choice_lines(cube: Cube, choice: Choice | None, wanted: float | None) -> list[Text]:
    if wanted is None:
        return []
    if choice is None:
        depths = cube.measures["crater_depth"]
        deepest = microns(float(np.nanmax(depths))) if np.any(np.isfinite(depths)) else "none"
        text = f"No setting of this map cuts {microns(wanted)} deep; the deepest crater: {deepest}."
        return [Text(), Text(text)]
    lines = [Text(), Text(_ascii(choice_text(cube, choice)))]
    if choice.between:
        kind = "scan" if "scan" in cube.setting else "shot"
        lines.append(
            Text(f"It is interpolated: check it with a {kind} of {setting_text(cube.axes, choice)}.")
        )
    return lines


def _grids(cube: Cube, choice: Choice | None) -> Iterator[RenderableType]:
    """A grid of signs for each panel, with a key; none where there are too many."""
    view = view_of(cube.axes)
    yield Text()
    if len(view.places) > _MOST_GRIDS:
        yield Text(
            f"{len(view.places)} grids of verdicts are too many for the screen: write a table or a picture."
        )
        return
    for place in view.places:
        if view.panels:
            yield heading(_ascii(view.title_of(place)))
        chosen = choice is not None and tuple(choice.nearest[one] for one in view.panels) == place
        signs = _signs(view.slice_of(place, cube.word))
        if choice is not None and chosen:
            signs[choice.nearest[view.up], choice.nearest[view.across]] = _CHOSEN
        yield indented(Text(_grid(view, signs), no_wrap=True))
        if cube.bands is not None:
            yield Text(f"{ODDS_TITLE} ({ODDS_KEY}):")
            shares = view.slice_of(place, cube.bands.share_of(cube.word))
            yield indented(Text(_grid(view, tenths(shares)), no_wrap=True))
    present = [word for word in SIGNS if np.any(cube.word == word)]
    key = ", ".join(f"{SIGNS[word]} {_name(word)}" for word in present)
    yield Text(f"{key}{f', {_CHOSEN} nearest to the cleanest' if choice else ''}")


_HEADS = ("depth", "char floor", "wall", "coag. floor", "wall")


def _along(cube: Cube) -> list[RenderableType]:
    """A line for each value of the only axis: verdict, depth and layers, then their intervals."""
    axis = cube.axes[0]
    name = f"{axis.name} [{axis.unit}]" if axis.unit else axis.name
    heads = (*_HEADS[:-1], f"{_HEADS[-1]} [um]")
    table = plain_table((name, "right"), ("verdict", "left"), *((head, "right") for head in heads))
    values: Sequence[float | str] = axis.values
    for at, value in enumerate(values):
        cell = float(cube.measures["cell_depth"][at])
        found = (float(cube.measures[name][at]) for name in CURVES)
        texts = (
            "-" if np.isnan(one) else shown(MEASURES[name], one, cell)
            for name, one in zip(CURVES, found, strict=True)
        )
        table.add_row(number_of(axis, value), _name(str(cube.word[at])), *texts)
    return [Text(), indented(table), *along(cube, dict(zip(CURVES, _HEADS, strict=True)))]


def _grid(view: View, signs: NDArray[np.str_]) -> str:
    """Signs with the first axis across and the second up, every second or third where there are many."""
    across, up = view.axes[view.across], view.axes[view.up]
    labels = [number_of(up, value) for value in up.values]
    width = max(map(len, (*labels, up.unit)))
    room = max(_LEAST_COLUMNS, (shutil.get_terminal_size((80, 24)).columns - width - 6) // 2)
    step = -(-signs.shape[1] // room)
    shown_columns = range(0, signs.shape[1], step)
    lines = [f"{up.name} [{up.unit}]" if up.unit else up.name]
    for row in range(signs.shape[0] - 1, -1, -1):
        lines.append(f"{labels[row]:>{width}}  {' '.join(signs[row, column] for column in shown_columns)}")
    first, last = (number_of(across, across.values[one]) for one in (shown_columns[0], shown_columns[-1]))
    name = f"{across.name} [{across.unit}]" if across.unit else across.name
    room = 2 * len(shown_columns) - 1 - len(first)
    lines.append(f"{'':{width}}  {first}{last:>{max(room, len(last) + 1)}}  {name}")
    if step > 1:
        lines.append(f"one column in {step} is shown")
    return "\n".join(lines)


def _signs(words: NDArray[np.str_]) -> NDArray[np.str_]:
    """Sign of each word, same shape."""
    signs = np.full(words.shape, "?", dtype="U1")
    for word, sign in SIGNS.items():
        signs[words == word] = sign
    return signs


def _spans(cube: Cube) -> RenderableType:
    columns = ((title, "right") for title in _SPAN_WORDS)
    table = plain_table(("", "left"), ("verdict", "left"), ("points", "right"), *columns)
    for word, sign in SIGNS.items():
        inside = cube.word == word
        if not np.any(inside):
            continue
        spans = (_span(cube.measures[name][inside], name) for name in _SPANS)
        table.add_row(sign, _name(word), str(int(np.sum(inside))), *spans)
    return table


def _span(values: NDArray[np.float64], name: str) -> str:
    found = values[np.isfinite(values)]
    if not found.size:
        return "-"
    low, high = (shown(MEASURES[name], float(one)) for one in (found.min(), found.max()))
    return low if low == high else f"{low} to {high}"


def _name(word: str) -> str:
    return _MEANINGS.get(word, word)


MANY, MANY_DRAWN = 3000, 300
"""Points from which a map needs --yes, and one with intervals."""
_STARTED = 10.0
"""Time [s] below which starting the workers takes more than the map."""


@dataclass(frozen=True)
class MapOptions:
    """What the user wants of a map."""

    depth: str | None = None
    """Crater for which the cleanest setting is sought."""
    table: Path | None = None
    picture: Path | None = None
    out: Path | None = None
    cluster: str | None = None
    workers: int | None = None
    yes: bool = False
    quiet: bool = False
    as_json: bool = False


def base_of(name: str | None, settings: Mapping[str, Any]) -> Scenario | Mapping[str, Any]:
    """The scenario called `name`, or else the `settings`. Raises InputError for both."""
    if name is None:
        return settings
    if others := [setting for setting, value in settings.items() if value is not None]:
        advice = "Change the scenario, or leave it out."
        raise InputError("scenario", "no other setting beside it but the ranges", others[0], advice)
    return scenario_at_path(name)


def carry_out(plan: MapPlan, options: MapOptions) -> None:
    """Solve the map, print what it found and write the files.

    Raises SpotdwellError; what can be told before the runs is told before them. A stopped map is kept as far
    as it went if there is a file for it.
    """
    depth = _depth_of(plan, options)
    files = Files(options.quiet, options.as_json)
    files.check("out", options.out, "h5", MAP)
    files.check("picture", options.picture, "picture")
    files.check("table", options.table, "csv")
    if options.picture is not None:
        check_panels(plan.axes)
    if np.prod(plan.shape, dtype=np.int64) > _most(plan) and not options.yes:
        raise _too_many(plan, options)
    if plan.intervals and not options.quiet:
        _tell_cost(plan, options)
    cube = _solved(plan, options)
    choice = None if depth is None else cleanest(cube, depth)
    files.show(
        lambda: plain_of(cube, choice),
        lambda: short_text(cube, choice, depth),
        lambda: map_text(cube, choice, depth),
    )
    if options.out is not None:
        files.tell(f"Saved {options.out}")
    with stopped(f"{options.table} was not written."):
        files.keep(options.table, lambda path: write_table(cube, path))
    with stopped(f"{options.picture} was not written."):
        files.keep(options.picture, lambda path: draw_map(cube, path, choice))
    if np.all(cube.failed):
        raise RunError(" ".join(failure_lines(cube)).strip())


def _depth_of(plan: MapPlan, options: MapOptions) -> float | None:
    """Depth for which a setting is sought [m]. Raises InputError for none, or one beyond the limits."""
    if options.depth is None:
        return None
    depth = parse(options.depth, "m", where="depth", example="300 um")
    if not 0.0 < depth < np.inf:
        raise InputError("depth", "more than 0", f'"{options.depth}"')
    check_depth(depth, Limits(**dict(plan.base.limits)))
    return depth


def _too_many(plan: MapPlan, options: MapOptions) -> InputError:
    """What a map of many points is refused with: its size, and how long a few of its points took."""
    count = int(np.prod(plan.shape, dtype=np.int64))
    with stopped("nothing was computed yet."):
        with Watch(options.quiet):
            # What compiles or loads kernels is not timed.
            point_of(plan, probe_points(plan)[0])
        if not options.quiet:
            mention(f"Timing {len(probe_points(plan))} of {count} points ...")
        took = time_text(foreseen(plan, options.workers))
    where = " on this machine" if options.cluster else ""
    got = f"{count}, which take about {took}{where}, by the cost of the middle and the corners"
    advice = "Give fewer values, or add --yes."
    with_them = " with intervals" if plan.intervals else ""
    return InputError("over", f"at most {_most(plan)} points{with_them} without --yes", got, advice)


def _most(plan: MapPlan) -> int:
    return MANY_DRAWN if plan.intervals else MANY


def _tell_cost(plan: MapPlan, options: MapOptions) -> None:
    """Say what intervals cost before the map begins."""
    count = int(np.prod(plan.shape, dtype=np.int64))
    with stopped("nothing was computed yet."), Watch(options.quiet):
        cost = with_intervals(plan, options.workers)
    lacks = (
        "" if options.out is None or not options.out.exists() else f", but for those that {options.out} holds"
    )
    told = f"Intervals: {FEW + 1} more runs at each of {count} points{lacks}"
    if cost is not None:
        where = " on this machine" if options.cluster else ""
        took = "a few seconds" if cost[1] < _STARTED else f"about {time_text(cost[1])}"
        told += f", some {cost[0]:.0f} times the cost of a point; {took}{where}"
    mention(f"{told}.")


def _solved(plan: MapPlan, options: MapOptions) -> Cube:
    with Watch(options.quiet, "points", solves=options.cluster is None) as watch:
        try:
            return map_of(plan, options.out, options.workers, options.cluster, watch.count)
        except KeyboardInterrupt:
            raise Interrupted(_stopped_text(watch, options.out)) from None


def _stopped_text(watch: Watch, out: Path | None) -> str:
    if out is None:
        return "Stopped: nothing was kept. With --out FILE.h5 a stopped map can be gone on with."
    done = f"{watch.done} of {watch.total}" if watch.total else "the earlier"
    return f"Stopped: {out} holds {done} points. The same command goes on with it."
