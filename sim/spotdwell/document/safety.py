"""Cautions that reports share."""

from __future__ import annotations

CAUTIONS = (
    "Eyes: protection for the wavelength for everybody in the room; CO2 light burns the cornea, and "
    "scattered light is enough.",
    "Smoke: extract it at the source and filter it; it holds toxic gases, particles and living cells.",
    "Fire: no flammable drapes, liquids or gases in the beam's reach; keep oxygen low; wet towels "
    "and water at hand.",
    "Rules: IEC 60825-1, ANSI Z136.3 for health care, and local rules; a trained and licensed person fires.",
    "Bench targets such as wood and acrylic burn and give off toxic fumes too: the same protection applies.",
    "No treatment decision rests on a model.",
)
