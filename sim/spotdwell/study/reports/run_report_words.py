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
    "Water in tissue is heated beyond 100 degC; its steam escapes in a stated time, without flow or "
    "pressure in the model. A water film boils at once.",
    "Material leaves from its exposed face: thrown out at a stated rupture temperature if it is still wet "
    "enough, or once it has charred and burns off. What is thrown out takes a stated heat from the beam.",
    "On a front that is thrown out a liquefied film of stated thickness spreads the light; it stays and "
    "cools.",
    "Conductivity follows water and char, not temperature; water's absorption falls with heat where a slope "
    "is known, to 0.3 of the cold value at the least; specific heats are constant.",
    "Damage follows first-order kinetics; melting, tearing, shrinkage, bleeding and burning in air are "
    "left out.",
)
"""THEORY.md, Assumptions and What the model leaves out."""
