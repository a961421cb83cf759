"""What the kernels work on: named tuples of arrays, so that a call names what it hands over."""

from __future__ import annotations

from typing import NamedTuple

from numpy.typing import NDArray


class Mesh(NamedTuple):
    """Cells and faces. A column's neighbours are (face, other column) pairs in `first[i]:first[i + 1]`."""

    cell: NDArray
    """Cell heights dz [m], (cells,)."""
    inverse_height: NDArray
    """1 / dz [1/m], (cells,)."""
    area: NDArray
    """Column areas [m2], (n,)."""
    pair: NDArray
    """Columns of each face, (faces, 2)."""
    width: NDArray
    """Face widths [m], (faces,)."""
    half: NDArray
    """Distances from the two column centres to the face [m], (faces, 2)."""
    ratio: NDArray
    """Face width over the distance of the two centres [-], (faces,)."""
    first: NDArray
    """Where each column's neighbours start, (n + 1,)."""
    face: NDArray
    """Faces by column, (2 faces,)."""
    other: NDArray
    """Neighbouring columns by column, (2 faces,)."""
    reach: int
    """Most that the indices of two neighbours differ."""


class Work(NamedTuple):
    """Scratch of the conduction kernels; rises carry ghosts, the rest is (n, cells)."""

    conductivity: NDArray
    """k of each cell [W/m/K]."""
    vertical: NDArray
    """Conductance of each horizontal face per area [W/m2/K], (n, cells + 1)."""
    lateral: NDArray
    """Conductance of each vertical face per metre of depth [W/m/K], (faces, cells)."""
    rise: NDArray
    """Rises [K], (n, cells + 2); gone cells and ghosts hold their surroundings."""
    rise_next: NDArray
    """The same for the next stage."""
    start: NDArray
    """Enthalpy at the start of the step [J/m3]."""
    current: NDArray
    """Enthalpy of the last stage [J/m3]."""
    previous: NDArray
    """Enthalpy of the stage before [J/m3]."""
    slope: NDArray
    """Rate of the first stage [W/m3]."""
    source: NDArray
    """Absorbed power [W/m3]."""
    inverse_capacity: NDArray
    """1 / C at the start of the step [m3 K/J]."""
    edge: NDArray
    """Index below which each column is untouched: there `Still` holds, (n,)."""
    scratch: NDArray
    """Integers for the active region, (2, n)."""
    row: NDArray
    """One column's rates [W/m3], (cells,)."""
    before: NDArray
    """One column's rises before the step [K], (cells,)."""
    shares: NDArray
    """Shares of the light that a block of cells takes [-], (block,)."""
    weights: NDArray
    """RKL2 weights, (most stages, 5)."""
    lost: NDArray
    """Power lost through exposed faces and through the bottom in each stage [W], (2, most stages)."""


class Still(NamedTuple):
    """Untouched tissue, the same in every column, (cells,) unless said: what most cells read, from cache."""

    capacity: NDArray
    """[J/m3/K]."""
    inverse_capacity: NDArray
    conductivity: NDArray
    vertical: NDArray
    """Conductance of each horizontal face per area [W/m2/K], (cells + 1,)."""
    rate: NDArray
    """Highest rate of relaxation of any cell down to this one [1/s]."""
    absorbed: NDArray
    """Share of the light reaching a cell that it takes [-]."""


class Media(NamedTuple):
    """Properties of the layer that each cell lies in, (cells,); rises are above the initial temperature."""

    solid_density: NDArray
    solid_capacity: NDArray
    """Volumetric heat capacity of the solids [J/m3/K]."""
    capacity_loss: NDArray
    """Share of it that leaves with full conversion [-]."""
    liquid_capacity: NDArray
    """Volumetric heat capacity of a liquid, kept until it is gone [J/m3/K]; 0 for solids."""
    initial_water: NDArray
    inverse_water: NDArray
    water_heat: NDArray
    """Specific heat of water in a solid [J/kg/K]; 0 for a liquid, whose capacity is kept."""
    latent_heat: NDArray
    boiling_rise: NDArray
    conductivity_wet: NDArray
    conductivity_dry: NDArray
    conductivity_char: NDArray
    absorption_water: NDArray
    """Absorption coefficient per density of water [m2/kg]."""
    absorption_solid: NDArray
    absorption_slope: NDArray
    """Share by which water's absorption falls with each kelvin [1/K]."""
    cool_rise: NDArray
    """Rise at which that absorption was measured, 25 degC [K]."""
    reflectance: NDArray
    emissivity: NDArray
    pyrolysis_factor: NDArray
    """A_p [1/s]; 0 where nothing converts."""
    pyrolysis_temperature: NDArray
    """E_p / R [K]."""
    pyrolysis_heat: NDArray
    """Heat taken up by full conversion [J/m3]."""
    inverse_removal: NDArray
    """One over the heat that removes it [m3/J]; 0 where nothing does, so that no front moves there."""
    rupture_rise: NDArray
    """Rise at which a cell is thrown out [K]; infinity where none is."""
    flash_water: NDArray
    """Least water with which it is [kg/m3]."""
    film_thickness: NDArray
    """Largest thickness of the liquefied film [m]."""
    film_growth: NDArray
    """Film gained for each depth thrown out, at first [-]."""
    film_rate: NDArray
    """Rate at which the film sets once the beam is off [1/s]."""
    debris_heat: NDArray
    """Heat that what is thrown out takes from the beam [J/m3]."""
    steam_escape_rate: NDArray
    """1 / t_escape [1/s]; infinity for a liquid."""
    burn_conversion: NDArray
    burn_rise: NDArray
    """Rise at which a converted, exposed face burns back by a millimetre a second [K]; infinity: never."""
    burn_temperature: NDArray
    """Activation energy of that speed over R [K]."""
    blood_heat: NDArray
    """Perfusion [W/m3/K]."""
    damage_factor: NDArray
    """ln A of each process, (processes, cells); -infinity where a medium lacks one."""
    damage_temperature: NDArray
    """E_a / R of each process [K], (processes, cells)."""
    damage_coldest: NDArray
    """Temperature below which each process is not summed [K], (processes,)."""


class State(NamedTuple):
    """The fields that change, (n, cells) unless said."""

    temperature: NDArray
    """Rise above the initial temperature [K]."""
    water: NDArray
    conversion: NDArray
    damage: NDArray
    """(processes, n, cells)."""
    damage_rise: NDArray
    """Rise when damage was last added up [K]."""
    dose: NDArray
    """CEM43 [s]; (0, 0) when not asked for."""
    floor: NDArray
    """Exposed cell of each column, (n,)."""
    left: NDArray
    """Height of each exposed cell over that of the grid's [-], (n,): less as it burns off, more as it takes
    in what was left of the one above."""
    front: NDArray
    """Depth of each column's front [m], (n,)."""
    changed: NDArray
    """Index from which each column still has its water and no char, (n,)."""
    thrown: NDArray
    """Depth thrown out since the pulse began [m], (n,): it decides the film's thickness."""
    debris: NDArray
    """Heat that debris still takes from the beam [J/m2], (n,); below 0 if it took a little too much."""
    paid: NDArray
    """Irradiance that debris takes at present [W/m2], (n,)."""
