"""The verb `shot`: one shot, or a train of them, given by options."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spotdwell.terminal import options as o

if TYPE_CHECKING:
    from spotdwell.inputs.shot import ShotOptions


def shot(
    on: o.On,
    power: o.Power = None,
    spot: o.Spot = None,
    dwell: o.Dwell = None,
    laser: o.Laser = None,
    dial: o.Dial = None,
    definition: o.Definition = None,
    profile: o.Profile = None,
    order: o.Order = None,
    inner_ratio: o.InnerRatio = None,
    wavelength: o.Wavelength = None,
    plume_transmittance: o.Plume = None,
    count: o.Count = None,
    pause: o.Pause = None,
    pulse_duration: o.PulseDuration = None,
    repetition_rate: o.RepetitionRate = None,
    peak_power: o.PeakPower = None,
    end_time: o.EndTime = None,
    end_temperature: o.EndTemperature = None,
    save_times: o.SaveTimes = None,
    thickness: o.Thickness = None,
    film: o.Film = None,
    backing: o.Backing = None,
    backing_temperature: o.BackingTemperature = None,
    initial_temperature: o.InitialTemperature = None,
    ambient_temperature: o.AmbientTemperature = None,
    geometry: o.Geometry = None,
    cell_depth: o.CellDepth = None,
    cell_width: o.CellWidth = None,
    refinement: o.Refinement = None,
    char_limit: o.CharLimit = None,
    depth_limit: o.DepthLimit = None,
    title: o.Title = None,
    out: o.Out = None,
    picture: o.Picture = None,
    as_json: o.Json = False,
    check_grid: o.CheckGrid = False,
    uncertainty: o.Uncertainty = None,
    seed: o.Seed = None,
    workers: o.Workers = None,
    quiet: o.Quiet = False,
) -> None:
    """Solve one shot, or a train of them, given by options: quantities with their units, in quotes.

    Example: spotdwell shot --on skin --power "4 W" --spot "0.6 mm" --dwell "10 ms"

    A train: add --count 10 --pause "90 ms"
    """
    from spotdwell.terminal.job import Wanted, carry_out
    from spotdwell.terminal.typed_shot import scenario_of_typed

    options: ShotOptions = {
        "wavelength": wavelength,
        "laser": laser,
        "dial": dial,
        "definition": definition,
        "profile": profile,
        "order": order,
        "inner_ratio": inner_ratio,
        "plume_transmittance": plume_transmittance,
        "pulse_duration": pulse_duration,
        "repetition_rate": repetition_rate,
        "peak_power": peak_power,
        "end_time": end_time,
        "end_temperature": end_temperature,
        "save_times": None if save_times is None else [one.strip() for one in save_times.split(",")],
        "thickness": thickness,
        "film": film,
        "backing": backing,
        "backing_temperature": backing_temperature,
        "initial_temperature": initial_temperature,
        "ambient_temperature": ambient_temperature,
        "geometry": geometry,
        "cell_depth": cell_depth,
        "cell_width": cell_width,
        "refinement": refinement,
        "char_limit": char_limit,
        "depth_limit": depth_limit,
        "title": title,
    }
    scenario = scenario_of_typed(on, power, spot, dwell, count, pause, options)
    wanted = Wanted(out, picture, as_json, check_grid, quiet, uncertainty, seed, workers)
    carry_out(scenario, wanted)
