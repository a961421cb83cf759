"""Physical constants and reference temperatures, SI."""

GAS_CONSTANT = 8.314462618
"""Molar gas constant [J/mol/K] (CODATA 2018, exact to the digits given)."""

STEFAN_BOLTZMANN = 5.670374419e-8
"""Stefan-Boltzmann constant [W/m2/K4] (CODATA 2018)."""

ZERO_CELSIUS = 273.15
"""0 degC in kelvin."""

WATER_DENSITY = 997.05
"""Density of liquid water at 25 degC [kg/m3] (IAPWS-95), at which absorption is tabulated."""

WATER_REFERENCE_TEMPERATURE = 298.15
"""Temperature at which its absorption is tabulated [K]."""

WATER_SPECIFIC_HEAT = 4181.3
"""Specific heat of liquid water at 25 degC [J/kg/K] (IAPWS-95)."""

WATER_BOILING_TEMPERATURE = 373.15
"""Boiling point of water at 1 atm [K] (IAPWS-95 gives 373.12)."""

WATER_LATENT_HEAT = 2.2564e6
"""Heat of evaporation of water at 100 degC [J/kg] (IAPWS-95)."""

HARMLESS_TEMPERATURE = 318.15
"""45 degC [K]: below it a run's cooling can add no damage that matters, so the run may end."""
