"""The target: layers over a backing, and the surroundings that cool it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from spotdwell.model.material import Medium


class Backing(StrEnum):
    """What lies under the deepest layer."""

    INSULATED = "insulated"
    HELD = "held"
    OPEN_AIR = "open air"


@dataclass(frozen=True)
class Layer:
    """A slab of one medium."""

    medium: Medium
    thickness: float
    """[m]; infinity for the deepest layer of a thick target, whose depth the grid then chooses."""


@dataclass(frozen=True)
class Target:
    """Layers from the surface down, over a backing."""

    layers: tuple[Layer, ...]
    initial_temperature: float = 310.15
    """[K]."""
    backing: Backing = Backing.INSULATED
    backing_temperature: float = 310.15
    """[K]; used when the backing is held."""


@dataclass(frozen=True)
class Surface:
    """Exchange of exposed faces with the surroundings (eq. 15)."""

    heat_transfer_coefficient: float = 10.0
    """h [W/m2/K]; infinity holds exposed faces at the ambient temperature."""
    ambient_temperature: float = 295.15
    """[K]."""
    radiates: bool = True
    """Whether exposed faces lose heat by radiation."""
