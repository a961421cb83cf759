"""What the report of a run says beside its numbers."""

from __future__ import annotations

DANGER = (
    "Lasers burn and blind. This page comes from a model, which measurements contradict in places: it is no "
    "ground for the treatment of anybody."
)

ASSUMPTIONS = (
    "The target is a porous solid of fixed shape with free water in it; all parts of a place share one "
    "temperature, and heat moves by conduction alone.",
    "Light runs straight down and is absorbed by Beer and Lambert's law; scattering, and reflection by the "
    "walls of a hole, are left out.",
    "Water boils at the temperature of 1 atm at every heating rate; steam is held or let go where it is "
    "made, without pressure or flow.",
    "Material leaves when its own trapped steam throws it out, or once it has charred and burns off; it is "
    "then gone, and takes only the stated share of light in the plume.",
    "Conductivity and absorption follow water and char, not temperature; specific heats are constant.",
    "Damage follows first-order kinetics; melting, tearing, shrinkage, bleeding and burning in air are "
    "left out.",
)
"""THEORY.md, Assumptions and What the model leaves out."""
