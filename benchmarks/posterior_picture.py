"""Picture of prior, posterior and rows."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, NullFormatter

from posterior_chains import Chains, Likelihood
from posterior_checks import Prediction
from posterior_values import FAMILY, WATER, Value
from spotdwell.evidence.published import Row

PRIOR, POSTERIOR, MEASURED = "0.75", "#1f5a8c", "black"


def save(
    path: Path,
    values: Sequence[Value],
    rows: Sequence[Row],
    chains: Chains,
    likelihood: Likelihood,
    predictions: Sequence[Prediction],
) -> None:
    """Draw the 90 % intervals of every value before and after, and of every row beside what was measured."""
    figure, (left, right) = plt.subplots(1, 2, figsize=(11.5, 9.0), layout="constrained")
    _values(left, values, chains)
    _rows(right, rows, chains, likelihood, predictions)
    figure.savefig(path, dpi=130)
    plt.close(figure)


def _values(axes: Axes, values: Sequence[Value], chains: Chains) -> None:
    even = (np.arange(1000) + 0.5) / 1000.0
    for place, one in enumerate(values):
        before = np.quantile(one.from_uniform(even), (0.05, 0.95))
        low, median, high = np.quantile(chains.flat[:, place], (0.05, 0.5, 0.95))
        axes.plot(before, [place, place], color=PRIOR, lw=9, solid_capstyle="butt")
        axes.plot([low, high], [place, place], color=POSTERIOR, lw=3, solid_capstyle="butt")
        axes.plot(median, place, "o", color=POSTERIOR, ms=5)
        axes.plot(one.share, place, "|", color=MEASURED, ms=11, mew=1.5)
    axes.set(xlim=(0.0, 1.0), xlabel="share of the range that the material states", title="Values")
    axes.set_yticks(range(len(values)), [_title(one) for one in values], fontsize=8)
    axes.set_ylim(len(values) - 0.4, -0.6)
    axes.plot([], [], color=PRIOR, lw=9, label="prior, 90 %")
    axes.plot([], [], "o-", color=POSTERIOR, lw=3, label="posterior, 90 % and median")
    axes.plot([], [], "|", color=MEASURED, ms=11, mew=1.5, ls="", label="as shipped")
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.06), ncols=1, fontsize=9, frameon=False)


def _rows(
    axes: Axes, rows: Sequence[Row], chains: Chains, likelihood: Likelihood, predictions: Sequence[Prediction]
) -> None:
    flat = chains.flat[:: max(1, len(chains.flat) // 2000)]
    means = np.exp(likelihood.computed(flat[:, :-2]).means)
    for place, (row, one) in enumerate(zip(rows, predictions, strict=True)):
        share = row.spread / row.measured
        measured = [max(1.0 - share, 0.1), 1.0 + share]
        axes.plot(measured, [place, place], color=PRIOR, lw=9, solid_capstyle="butt")
        axes.plot([one.low, one.high], [place, place], color=POSTERIOR, lw=1)
        axes.plot(np.quantile(means[:, place], (0.05, 0.95)), [place, place], color=POSTERIOR, lw=4)
        axes.plot(one.median, place, "o", color=POSTERIOR, ms=5)
    axes.axvline(1.0, color=MEASURED, lw=0.8)
    axes.set(xscale="log", xlim=(0.15, 5.0), xlabel="computed over measured [-]", title="Rows")
    axes.xaxis.set_major_locator(FixedLocator([0.2, 0.5, 1.0, 2.0, 5.0]))
    axes.xaxis.set_major_formatter("{x:g}")
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set_yticks(range(len(rows)), [row.name for row in rows], fontsize=8)
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.plot([], [], color=PRIOR, lw=9, label="measured, spread")
    axes.plot([], [], color=POSTERIOR, lw=4, label="all rows known, values alone, 90 %")
    axes.plot([], [], "o-", color=POSTERIOR, lw=1, label="this row left out, 90 % and median")
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.06), ncols=1, fontsize=9, frameon=False)


def _title(one: Value) -> str:
    whose = {FAMILY: "", WATER: "water: "}.get(one.file, f"{one.file}: ")
    table, _, line = one.entry.partition(".")
    names = {"slope": "fall of absorption", "absorption": "solids' absorption", "debris": "debris heat"}
    if table in names:
        return f"{whose}{names[table]}, {line}"
    if one.entry == "rupture_temperature" and not whose:
        return "other tissue: rupture temperature"
    return f"{whose}{one.entry}".replace("_", " ").replace(".", ", ")
