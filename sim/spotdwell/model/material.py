"""Media: a target's properties at one wavelength, as the kernels need them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from spotdwell.base import constants


@dataclass(frozen=True)
class DamageProcess:
    """One first-order rate process of thermal damage (eq. 12)."""

    name: str
    """Short key, such as "collagen"."""
    title: str
    """What a reader calls it, such as "collagen birefringence loss"."""
    frequency_factor: float
    """A [1/s]."""
    activation_energy: float
    """E_a [J/mol]."""


@dataclass(frozen=True)
class Pyrolysis:
    """Conversion of dry solid into char and gas (eq. 10, 11)."""

    frequency_factor: float
    """A_p [1/s]."""
    activation_energy: float
    """E_p [J/mol]."""
    heat: float
    """h_p, heat taken up by each kg of solid converted [J/kg]."""
    char_yield: float
    """y, share of the solid's mass that stays as char [-]."""
    leaves_char: bool = True
    """False where the solid turns to gas (an acrylic): conversion is then no char to report."""


@dataclass(frozen=True)
class Removal:
    """Limits at which tissue leaves, and what it does to the beam as it leaves (eq. 8, 9, 13, 14)."""

    rupture_temperature: float = math.inf
    """T_r: superheated tissue that is still wet enough to flash is thrown out at this temperature [K]."""
    rupture_water_share: float = 0.0
    """Share of its first water below which tissue is too porous for its steam to throw it out [-]."""
    steam_escape_time: float = 1e-3
    """t_e: time in which superheat is spent on steam that escapes [s]; 0: it boils at once."""
    film_thickness: float = 0.0
    """delta_max: largest thickness of the liquefied, stirred film on a front that is thrown out [m]."""
    film_growth: float = 0.0
    """g: thickness that the film gains for each depth that is thrown out, at first [-]."""
    debris_heat: float = 0.0
    """h_d: heat that what is thrown out takes from the beam, per volume [J/m3]."""
    burn_off_conversion: float = 0.9
    """Conversion from which an exposed cell may burn off [-]."""
    burn_off_temperature: float = 1273.15
    """Temperature at which an exposed, converted face burns back by `BURN_OFF_SPEED` [K]."""


MOST_SHADE = 0.9
"""Most of the beam that debris takes at any time [-] (eq. 9)."""
BURN_OFF_SPEED = 1e-3
"""Speed at which a converted face burns back at its burn-off temperature [m/s] (eq. 14)."""
BURN_OFF_ACTIVATION = 2.5e5
"""Activation energy of that speed [J/mol] (eq. 14)."""


@dataclass(frozen=True)
class Medium:
    """A material at one wavelength. Densities are per volume of the whole medium."""

    name: str
    solid_density: float
    """Mass of solids per volume [kg/m3]; 0 for a liquid."""
    water_density: float
    """Mass of free water per volume before the shot, w0 [kg/m3]."""
    specific_heat_solid: float
    """[J/kg/K]."""
    conductivity: float
    """Thermal conductivity with all its water [W/m/K]."""
    conductivity_dry: float
    """The same once dried [W/m/K]."""
    conductivity_char: float
    """The same once charred [W/m/K]."""
    absorption_coefficient_water: float
    """Of pure liquid water at the wavelength [1/m]."""
    absorption_coefficient_solid: float
    """What the solids add, wet, dry or charred [1/m]."""
    absorption_slope: float = 0.0
    """b: share by which water's absorption falls with each kelvin above 25 degC [1/K]."""
    reflectance: float = 0.0
    """Share of the beam reflected at the exposed face [-]."""
    emissivity: float = 0.95
    """For heat radiation from exposed faces [-]."""
    specific_heat_water: float = constants.WATER_SPECIFIC_HEAT
    """[J/kg/K]."""
    boiling_temperature: float = constants.WATER_BOILING_TEMPERATURE
    """T_b [K]."""
    latent_heat: float = constants.WATER_LATENT_HEAT
    """L_v [J/kg]."""
    pyrolysis: Pyrolysis | None = None
    """None: the solid never converts."""
    removal: Removal | None = None
    """None: nothing is ever removed."""
    damage: tuple[DamageProcess, ...] = field(default=())
    """Rate processes; the first is the one whose Omega = 1 bounds the coagulated zone."""
    perfusion: float = 0.0
    """Heat carried by blood per volume and kelvin, omega rho_b c_b [W/m3/K]; 0 is off."""

    @property
    def is_liquid(self) -> bool:
        """Whether the medium has no solids: it goes when its water is gone."""
        return self.solid_density == 0.0

    @property
    def density(self) -> float:
        """Mass per volume before the shot [kg/m3]."""
        return self.solid_density + self.water_density

    @property
    def heat_capacity(self) -> float:
        """Volumetric heat capacity before the shot [J/m3/K]."""
        return self.solid_density * self.specific_heat_solid + self.water_density * self.specific_heat_water

    @property
    def absorption_coefficient(self) -> float:
        """Of the medium before the shot [1/m] (eq. 4)."""
        share = self.water_density / constants.WATER_DENSITY
        return self.absorption_coefficient_water * share + self.absorption_coefficient_solid

    @property
    def ruptures(self) -> bool:
        """Whether superheated water throws the medium out."""
        return self.removal is not None and not self.is_liquid and self.flash_water < self.water_density

    @property
    def flash_water(self) -> float:
        """Least water with which a cell is thrown out at its rupture temperature [kg/m3] (eq. 13).

        It is as much as would flash, and enough for its pores to hold steam. Infinity where nothing ruptures.
        """
        if self.removal is None:
            return math.inf
        over = self.removal.rupture_temperature - self.boiling_temperature
        spare = self.latent_heat - self.specific_heat_water * over
        if not math.isfinite(over) or spare <= 0.0:
            return math.inf
        flashes = self.solid_density * self.specific_heat_solid * over / spare
        return max(flashes, self.removal.rupture_water_share * self.water_density)

    def removal_enthalpy(self, initial_temperature: float) -> float:
        """Least heat per volume that removes the medium [J/m3], without what its debris takes.

        Heating to rupture; of a liquid, heating and evaporating it; of a solid that does not rupture, heating
        to its burn-off temperature, with its water evaporated and its heat of pyrolysis.
        """
        water = self.water_density * self.latent_heat
        if self.is_liquid:
            return self.heat_capacity * (self.boiling_temperature - initial_temperature) + water
        if self.ruptures:
            assert self.removal is not None
            return self.heat_capacity * (self.removal.rupture_temperature - initial_temperature)
        return self.burn_off_enthalpy(initial_temperature)

    def burn_off_enthalpy(self, initial_temperature: float) -> float:
        """Heat per volume that dries the medium, converts it and heats it until it burns off [J/m3]."""
        hot = self.removal.burn_off_temperature if self.removal else self.boiling_temperature
        heat = max(self.pyrolysis.heat, 0.0) if self.pyrolysis else 0.0
        wet = self.water_density * self.specific_heat_water * (self.boiling_temperature - initial_temperature)
        solids = self.solid_density * (self.specific_heat_solid * (hot - initial_temperature) + heat)
        return wet + self.water_density * self.latent_heat + solids
