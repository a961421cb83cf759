"""Media: a target's properties at one wavelength, as the kernels need them."""

from __future__ import annotations

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
    """Limits at which tissue leaves (eq. 13, 14)."""

    ejected_share: float
    """f_ej: a cell is thrown out when its trapped steam reaches this share of its initial water [-]."""
    steam_escape_time: float
    """Time in which trapped steam leaks away [s]."""
    burn_off_conversion: float = 0.9
    """Conversion from which an exposed cell may burn off [-]."""
    burn_off_temperature: float = 1273.15
    """Temperature from which an exposed, converted cell burns off [K]."""


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

    def removal_enthalpy(self, initial_temperature: float) -> float:
        """Least heat per volume that removes the medium [J/m3]: heating, then evaporating the ejected share.

        A solid without water needs heating to its burn-off temperature and its heat of pyrolysis.
        """
        if self.water_density > 0.0:
            share = 1.0 if self.is_liquid or self.removal is None else min(1.0, self.removal.ejected_share)
            warm = self.heat_capacity * (self.boiling_temperature - initial_temperature)
            return warm + share * self.water_density * self.latent_heat
        hot = self.removal.burn_off_temperature if self.removal else self.boiling_temperature
        heat = self.pyrolysis.heat if self.pyrolysis else 0.0
        return self.heat_capacity * (hot - initial_temperature) + heat * self.solid_density
