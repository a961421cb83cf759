"""Closed forms that the tool is checked against; pure functions on numpy arrays, importing nothing of ours.

Every result is a rise above the initial temperature unless it says otherwise. Legend, SI throughout:

    z depth [m]; x, y, r distances along the surface [m]; t time [s]; v speed [m/s]
    q absorbed irradiance [W/m2]; P absorbed power [W]; w 1/e2 beam radius [m]; F radiant exposure [J/m2]
    mu absorption coefficient [1/m]; k conductivity [W/m/K]; C heat capacity per volume [J/m3/K]
    rise phase-change temperature minus initial temperature [K]; L latent heat per volume [J/m3]

Equation numbers such as "eq. B1" are those of THEORY.md, which also lists the references.
"""

from spotdwell.exact.conduction import (
    absorption_pulse_kernel,
    absorption_rise,
    absorption_surface_rise,
    contact_rise,
    diffusion_mode,
    plane_pulse_rise,
    surface_flux_rise,
    surface_loss_rise,
)
from spotdwell.exact.crater import (
    crater_diameter,
    steady_depth,
    steady_volume,
)
from spotdwell.exact.fronts import (
    BoilingFront,
    VolumetricFront,
    ablation_depth_bounds,
    ablation_rise,
    ablation_speed,
    ablation_stored_heat,
    burning_rise,
    drying_front,
    drying_front_rise,
    preheat_time,
    stefan_root,
)
from spotdwell.exact.rates import (
    converted_share,
    damage,
    damage_temperature,
    damage_time,
    rupture_time,
    superheated_cell,
    thermal_dose,
)
from spotdwell.exact.rupture import RuptureFront, drying_irradiance
from spotdwell.exact.spot import (
    finite_absorption_ratio,
    moving_point_rise,
    spot_centre_rise,
    spot_rise,
    spot_steady_profile,
)

__all__ = [
    "BoilingFront",
    "RuptureFront",
    "VolumetricFront",
    "ablation_depth_bounds",
    "ablation_rise",
    "ablation_speed",
    "ablation_stored_heat",
    "absorption_pulse_kernel",
    "absorption_rise",
    "absorption_surface_rise",
    "burning_rise",
    "contact_rise",
    "converted_share",
    "crater_diameter",
    "damage",
    "damage_temperature",
    "damage_time",
    "diffusion_mode",
    "drying_front",
    "drying_front_rise",
    "drying_irradiance",
    "finite_absorption_ratio",
    "moving_point_rise",
    "plane_pulse_rise",
    "preheat_time",
    "rupture_time",
    "spot_centre_rise",
    "spot_rise",
    "spot_steady_profile",
    "steady_depth",
    "steady_volume",
    "stefan_root",
    "superheated_cell",
    "surface_flux_rise",
    "surface_loss_rise",
    "thermal_dose",
]
