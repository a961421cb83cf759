"""Questions of the class page whose answers are reasons: what the model holds, with numbers of the map."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import numpy as np

from spotdwell.base import units
from spotdwell.base.units import convert, significant
from spotdwell.maps.choice import length_of
from spotdwell.maps.cube import Cube
from spotdwell.output.pictures.style import typeset
from spotdwell.pages.points import question, thickest
from spotdwell.pages.words import basis_counts

_VISIBLE = 1e-4
"""What the eye tells apart without a lens [m]: an arc minute or more at reading distance. A rule of thumb."""
_BODY = 310.15
"""Of living tissue [K]."""


def where_heat_goes(cube: Cube) -> Iterator[dict[str, Any]]:
    """Strong and short against weak and long, with the times of the map."""
    answer = (
        "If the strong, short one removes, much of its heat leaves at once with what is thrown out. That of "
        "the weak, long one has time to flow into what stays, and dries, coagulates or chars it. Of a shot "
        "that removes nothing nearly all stays. "
    )
    times = _lit_times(cube)
    if len(times) > 1:
        low, high = times[0], times[-1]
        answer += (
            f"Heat spreads with the root of time: in {_duration(high)}, the longest of this map, "
            f"{significant((high / low) ** 0.5, 2)} times as far as in {_duration(low)}, the shortest. "
        )
    tau = cube.measures["thermal_relaxation_time"]
    if times and np.any(np.isfinite(tau)):
        leaves = float(np.nanmin(tau))
        answer += (
            f"The layer that takes up the light loses its heat in some {_duration(leaves, 2)} (its thermal "
            f"relaxation time): {_compared(times, leaves)}"
        )
    yield question(
        "Two shots send the same energy, one strong and short, one weak and long. Where does the heat go?",
        typeset(answer.strip()),
    )


def _compared(times: list[float], tau: float) -> str:
    if times[0] > tau:
        return "every exposure here is longer, so that heat flows on while the beam is still on."
    if times[-1] <= tau:
        return "every exposure here is shorter, so that most of it is still in place when the beam goes off."
    return "some exposures here are shorter than that, and others longer."


def _lit_times(cube: Cube) -> list[float]:
    """How long the beam is on without a pause [s], ascending: a pulse if there are some, else an exposure."""
    exposure = tomllib.loads(cube.scenario_text).get("exposure", {})
    carrier = exposure.get("carrier", {}) if isinstance(exposure, dict) else {}
    for name, table, keys in (
        ("pulse_duration", carrier, ("pulse_duration",)),
        ("dwell", exposure, ("dwell_time", "on_time")),
    ):
        for axis in cube.axes:
            if axis.name == name:
                return [float(value) for value in axis.values]
        for key in keys:
            if isinstance(table, dict) and key in table:
                return [units.parse(table[key], "s", where="scenario", example="1 ms")]
    return []


def what_is_seen(cube: Cube) -> Iterator[dict[str, Any]]:
    """What the eye sees of the layers, and for what a microscope is needed, counted in the map.

    That char is black and coagulated tissue turbid is common practice, no source.
    """
    solved = ~(cube.missing | cube.failed)
    total = int(np.sum(solved))
    char, dried, coagulated = (thickest(cube, zone)[solved] for zone in ("char", "dried", "coagulation"))
    answer = "Char is black: the eye sees it, though not how thick it is. "
    if np.any(char > 0.0):
        answer += (
            f"Here {_counted(char, total)} leave char at floor or wall, at most {length_of(char.max())}. "
        )
    else:
        answer += "Here no setting leaves any at floor or wall. "
    if np.all(np.isnan(cube.measures["coagulation_thickness_floor"][solved])):
        answer += (
            "No damage process is stated for this material, so that nothing counts as coagulated; "
            f"the dried layer is at most {length_of(dried.max())} thick. "
        )
    else:
        answer += (
            "What is coagulated is turbid but has no sharp edge: the process goes on by degrees, and its "
            "layer ends where 63 % of it is done. A stained section under the microscope shows how far it "
            f"reaches; here at most {length_of(coagulated.max())}. "
        )
    many = int(np.sum(np.maximum(np.maximum(char, dried), coagulated) > _VISIBLE))
    answer += (
        f"Without a lens the eye tells apart some {length_of(_VISIBLE)}: in a section, {many} of {total} "
        "settings leave a layer thicker than that."
    )
    yield question(
        "Which layer would you look for under a microscope, and which would you see with the naked eye?",
        answer,
    )


def _counted(thickness: Any, total: int) -> str:
    return f"{int(np.sum(thickness > 0.0))} of {total} settings"


def what_is_checked(cube: Cube) -> Iterator[dict[str, Any]]:
    """Which figures can be measured with simple means, with the sizes that the map has."""
    widths, masses = (np.nan_to_num(cube.measures[name]) for name in ("crater_width", "crater_mass"))
    parts = []
    if np.any(widths > 0.0):
        sizes = _range(length_of, widths[widths > 0.0])
        parts.append(f"A ruler with a lens: the width of the crater, here {sizes}; the depth only in a cut.")
    if (mass := float(convert(float(masses.max()), "kg", "mg"))) > 0.0:
        parts.append(
            f"A balance: what is lost, here {significant(mass, 2)} mg at most for one shot, so that one "
            f"which shows 0.1 mg needs {_shots(mass)}. It weighs the water that dried out of the rest, too."
        )
    if times := _lit_times(cube):
        parts.append(
            f"A clock: how long the beam is on, here {_range(_duration, np.array(times))}, with a light "
            "sensor, as no hand is that quick. With the power from a meter it gives the energy sent."
        )
    parts.append("Not so the highest temperature, which lasts for an instant in what is thrown out.")
    yield question(
        "Which figure on this page could you check with a ruler, a scale or a clock, and how?",
        typeset(" ".join(parts)),
    )


def _shots(mass: float) -> str:
    """Shots whose loss is ten times what a balance of 0.1 mg shows."""
    count = int(np.ceil(1.0 / mass))
    return f"{count} such shots together for ten steps of its scale" if count > 1 else "one such shot"


def what_is_left_out(cube: Cube) -> Iterator[dict[str, Any]]:
    """What the model leaves out of living tissue, and what the map itself says of its own limits."""
    if _is_bench(cube):
        start = (
            "This target is not alive and starts at the temperature of the room: no blood flows in it, "
            "bleeds or carries heat off, nothing swells, heals or hurts. "
        )
    else:
        start = "Vessels bleed and the blood takes heat and light; tissue swells, hurts and heals over days. "
    answer = start + (
        "Tissue moves under the beam and so does the hand; it tears, shrinks as it dries, and its liquid "
        "flows. Walls of deep holes reflect light downwards"
    )
    depths, widths = (np.nan_to_num(cube.measures[name]) for name in ("deepest", "crater_width"))
    steep = int(np.sum((depths > 2.0 * widths) & (widths > 0.0)))
    many = f", as {steep} are here" if steep > 1 else ", as one is here" if steep else "; none here"
    answer += f", which matters where those are deeper than twice their width{many}. "
    assumed, total = basis_counts(cube)
    if total:
        answer += "And no two sites are alike: the values stand for all of them, and "
        answer += f"{assumed} of the {total} are assumed."
    yield question("What happens in living tissue that is not on this page?", answer.strip())


def _is_bench(cube: Cube) -> bool:
    """Whether all materials of the map start at another temperature than a body's."""
    tables = tomllib.loads(cube.scenario_text).get("materials", {}).values()
    starts = [one["initial_temperature"] for one in tables if "initial_temperature" in one]
    warm = [units.parse(one, "K", where="scenario", example="37 degC") for one in starts]
    return bool(warm) and all(abs(one - _BODY) > 5.0 for one in warm)


def _duration(time: float, digits: int = 3) -> str:
    unit, scale = ("s", 1.0) if time >= 1.0 else ("ms", 1e3) if time >= 1e-3 else ("µs", 1e6)
    return f"{float(significant(time * scale, digits)):g} {unit}"


def _range(text: Any, values: Any) -> str:
    low, high = text(float(np.min(values))), text(float(np.max(values)))
    return low if low == high else f"{low} to {high}"
