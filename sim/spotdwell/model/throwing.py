"""Throwing: estimates of the irradiance at which superheated water throws tissue out."""

from __future__ import annotations

from dataclasses import dataclass

from spotdwell.model.material import Medium


@dataclass(frozen=True)
class Throwing:
    """Absorbed irradiances at which superheated water throws tissue out [W/m2]; estimates."""

    begins: float
    """Below it nothing is thrown out: steam escapes faster than superheat gathers."""
    lasts: float
    """Below it a face that was thrown out for a while dries, chars and burns off from then on."""


def throwing(medium: Medium, initial_temperature: float) -> Throwing | None:
    """Estimates of where `medium` begins, and goes on, to be thrown out; None if it never is, or always.

    In front of a face that recedes at v, superheat e goes as de/dt = mu q exp(-mu v t) - e / t_e, which makes
    e = mu q / (mu v + 1 / t_e) at the face, and spends e / (mu v t_e L_v) of water on the way. The face is
    thrown out if e reaches E = C (T_r - T_b) with water enough to flash, so with
    a = E / (L_v (w0 - w_flash)) for mu v t_e at least: q >= E (1 + a) / (mu t_e). A first, bare face has its
    tissue's mu; one that goes on being thrown out has mu / (1 + mu delta) below its film, and a beam of which
    debris takes h_d for each h = C (T_r - T_0) + L_v (w0 - w_flash) that is thrown out. What conduction takes
    and what heats up to boiling are left out of e: a third less than what the solver needs at first.
    """
    removal = medium.removal
    if removal is None or not medium.ruptures or not removal.steam_escape_time > 0.0:
        return None
    superheat = medium.heat_capacity * (removal.rupture_temperature - medium.boiling_temperature)
    spare = medium.latent_heat * (medium.water_density - medium.flash_water)
    mu = medium.absorption_coefficient
    begins = superheat * (1.0 + superheat / spare) / (mu * removal.steam_escape_time)
    heat = medium.heat_capacity * (removal.rupture_temperature - initial_temperature) + spare
    film, debris = 1.0 + mu * removal.film_thickness, 1.0 + removal.debris_heat / heat
    return Throwing(begins, begins * film * debris)
