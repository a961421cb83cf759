"""Validation picture: measured against computed depths, with the errors that were stated."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from spotdwell.calibration.picture import kind_of, look, number_points
from spotdwell.calibration.validate import Validation
from spotdwell.calibration.validate_words import bias_text, coverage_text, spread_text
from spotdwell.output.pictures.style import BEAM, CAUTION, FAINT, INK, draw_file, length_unit, typeset


def draw_validation(found: Validation, path: str | os.PathLike[str]) -> None:
    """Draw measured against computed depth: png, svg or pdf by the suffix.

    Raises InputError for an unknown suffix and RunError where `path` cannot be written.
    """
    draw_file(Path(path), lambda figure: paint(figure, found))


def paint(figure: Any, found: Validation) -> None:
    """Fill `figure` with a point for each row, the line on which both agree, and the line of the bias."""
    figure.set_size_inches(7.0, 5.6)
    axes = figure.add_axes((0.1, 0.14, 0.56, 0.7))
    most = max(max(one.depth, one.computed_depth) for one in found.shots)
    unit, scale = length_unit(most)
    top = 1.12 * scale * most
    kinds = list(dict.fromkeys(kind_of(one) for one in found.shots))
    axes.plot([0.0, top], [0.0, top], color=BEAM, linewidth=1.2, zorder=2)
    axes.plot(
        [0.0, (1.0 + found.bias) * top], [0.0, top], color=FAINT, linewidth=1.2, linestyle="--", zorder=2
    )
    for one in found.shots:
        at = scale * one.computed_depth, scale * one.depth
        if one.perforated:
            axes.plot(*at, marker="x", color=INK, markersize=6.0, zorder=4)
            continue
        if one.depth_error is not None:
            axes.errorbar(
                *at, yerr=2.0 * scale * one.depth_error, color=INK, linewidth=0.8, capsize=2, zorder=3
            )
        axes.plot(*at, **look(kind_of(one), kinds), zorder=4)
    number_points(axes, found.shots, scale, top)
    # Room for the numbers of marks that removed nothing.
    axes.set_xlim(-0.07 * top, top)
    axes.set_ylim(-0.07 * top, top)
    axes.set_aspect("equal")
    axes.set_xlabel(f"computed depth [{unit}]")
    axes.set_ylabel(f"measured depth [{unit}]")
    axes.grid(color="#ececec", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    _legend(axes, found, kinds)
    figure.text(0.02, 0.975, f"{found.source}: {typeset(found.material)}", va="top", weight="bold", size=9.5)
    figure.text(0.02, 0.93, "Nothing was fitted; numbers: rows of the file", va="top")
    figure.text(0.685, 0.84, _words(found), va="top", fontsize=8, linespacing=1.3, color=INK)
    figure.text(0.02, 0.012, CAUTION.replace(": follow", ":\nfollow"), fontsize=6.5, color="#555555")


def _words(found: Validation) -> str:
    import textwrap

    texts = [bias_text(found), spread_text(found), *map(coverage_text, found.coverage)]
    return "\n\n".join(textwrap.fill(text.replace(" %", "\N{NO-BREAK SPACE}%"), 34) for text in texts)


def _legend(axes: Any, found: Validation, kinds: list[str]) -> None:
    from matplotlib.lines import Line2D

    entries: list[tuple[Any, str]] = [(Line2D([], [], **look(kind, kinds)), kind) for kind in kinds]
    if any(one.perforated for one in found.shots):
        entries.append((Line2D([], [], marker="x", color=INK, linestyle="none"), "cut through, not counted"))
    entries += [
        (Line2D([], [], color=BEAM, linewidth=1.2), "equal depths"),
        (Line2D([], [], color=FAINT, linewidth=1.2, linestyle="--"), "the bias"),
    ]
    if found.coverage:
        entries.append(
            (Line2D([], [], color=INK, marker="|", markersize=9, linestyle="none"), "± 2 stated errors")
        )
    handles, labels = zip(*entries, strict=True)
    place = {"loc": "lower left", "bbox_to_anchor": (1.03, 0.0)}
    axes.legend(handles, labels, fontsize=8, frameon=False, borderpad=0.0, **place)
