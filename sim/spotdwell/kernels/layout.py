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
    """Columns of each face [index], (faces, 2)."""
    width: NDArray
    """Face widths [m], (faces,)."""
    half: NDArray
    """Distances from the two column centres to the face [m], (faces, 2)."""
    ratio: NDArray
    """Face width over the distance of the two centres [-], (faces,)."""
    first: NDArray
    """Where each column's neighbours start [index], (n + 1,)."""
    face: NDArray
    """Faces by column [index], (2 faces,)."""
    other: NDArray
    """Neighbouring columns by column [index], (2 faces,)."""
    layer: NDArray
    """Layer that each cell lies in [index], (cells,)."""
    edges: NDArray
    """Depths of the horizontal faces [m], (cells + 1,)."""
    reach: int
    """Most that the indices of two neighbours differ [-]."""
    row: int
    """Columns in a row along y of a lattice [-]; 0 elsewhere."""
    marching: NDArray
    """Columns that march, ascending [index]; others rest, with -1 in `last`, and nothing flows to them."""


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
    """The same for the next stage [K]."""
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
    """Cell from which each column is untouched: there `Still` holds [index], (n,)."""
    scratch: NDArray
    """Ends of the active region as it grows [index], (2, n)."""
    row: NDArray
    """One column's rates [W/m3], (cells,)."""
    before: NDArray
    """One column's rises before the step [K], (cells,)."""
    decay: NDArray
    """Times over that steam escapes in the step [-], (cells,)."""
    held: NDArray
    """Share that stays of superheat there was [-], (cells,)."""
    share: NDArray
    """Share that stays of superheat that comes in the step [-], (cells,)."""
    charring: NDArray
    """Rise from which a cell pyrolyses noticeably in the step [K], (cells,)."""
    reactive: NDArray
    """Rise from which it does so or is superheated [K], (cells,)."""
    held_heat: NDArray
    """Heat capacity of a row's cells per area [J/m2/K] or depth [J/m/K], (longest row + 2, cells + 1)."""
    passed: NDArray
    """A time times the conductance of the face before each of them [J/m2/K] or [J/m/K]."""
    pivot: NDArray
    """Inverse pivots of an elimination along the row [m2 K/J] or [m K/J]."""
    factor: NDArray
    """Share of what comes to the cell before that goes on into each [-]."""
    right: NDArray
    """Heat of the row's cells per area [J/m2] or depth [J/m]."""
    solved: NDArray
    """Their rises after an implicit stage [K]."""
    per_area: NDArray
    """What is booked for a column: `slots.Term` [J/m2], and the mass behind them [kg/m2]."""
    shares: NDArray
    """Shares of the light that a block of cells takes [-], (block,)."""
    weights: NDArray
    """RKL2 weights, (most stages, 5): three of states [-], two of rates [s]."""
    falling: NDArray
    """Power that falls on each column in a step, where it changes [W], (n,)."""
    stored: NDArray
    """Heat that each column holds above its initial state [J], (n,)."""
    warmest: NDArray
    """Highest rise in each column [K], (n,)."""
    lost: NDArray
    """Power lost through exposed faces and through the bottom in each stage [W], (2, most stages)."""


class Still(NamedTuple):
    """Untouched tissue, the same in every column, (cells,) unless said: what most cells read, from cache."""

    capacity: NDArray
    """[J/m3/K]."""
    inverse_capacity: NDArray
    """One over it [m3 K/J]."""
    conductivity: NDArray
    """[W/m/K]."""
    vertical: NDArray
    """Conductance of each horizontal face per area [W/m2/K], (cells + 1,)."""
    rate: NDArray
    """Highest rate of relaxation of any cell down to this one [1/s]."""
    absorbed: NDArray
    """Share of the light reaching a cell that it takes [-]."""


class Media(NamedTuple):
    """Properties of the layer that each cell lies in, (cells,); rises are above the initial temperature."""

    density: NDArray
    """Mass of solids and of their first water [kg/m3]."""
    solid_capacity: NDArray
    """Volumetric heat capacity of the solids [J/m3/K]."""
    capacity_loss: NDArray
    """Share of it that leaves with full conversion [-]."""
    liquid_capacity: NDArray
    """Volumetric heat capacity of a liquid, kept until it is gone [J/m3/K]; 0 for solids."""
    initial_water: NDArray
    """[kg/m3]."""
    inverse_water: NDArray
    """One over it [m3/kg]; 0 where there is none."""
    water_heat: NDArray
    """Specific heat of water in a solid [J/kg/K]; 0 for a liquid, whose capacity is kept."""
    latent_heat: NDArray
    """Of water [J/kg]."""
    boiling_rise: NDArray
    """Rise at which water boils [K]."""
    conductivity_wet: NDArray
    """With all its water [W/m/K]."""
    conductivity_dry: NDArray
    """With none [W/m/K]."""
    conductivity_char: NDArray
    """Once converted [W/m/K]."""
    absorption_water: NDArray
    """Absorption coefficient per density of water [m2/kg]."""
    absorption_solid: NDArray
    """Absorption coefficient of all but water [1/m]."""
    absorption_slope: NDArray
    """Share by which water's absorption falls with each kelvin [1/K]."""
    cool_rise: NDArray
    """Rise at which that absorption was measured, 25 degC [K]."""
    reflectance: NDArray
    """[-]."""
    emissivity: NDArray
    """[-]."""
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
    """Conversion from which an exposed cell burns back [-]; infinity: never."""
    burn_rise: NDArray
    """Rise at which a converted, exposed face burns back by a millimetre a second [K]; infinity: never."""
    burn_temperature: NDArray
    """Activation energy of that speed over R [K]."""
    blood_heat: NDArray
    """Perfusion [W/m3/K]."""
    damage_factor: NDArray
    """ln A of each process, A in 1/s [-], (processes, cells); -infinity where a medium lacks one."""
    damage_temperature: NDArray
    """E_a / R of each process [K], (processes, cells)."""
    damage_coldest: NDArray
    """Temperature below which each process is not summed [K], (processes,)."""


class State(NamedTuple):
    """The fields that change, (n, cells) unless said."""

    temperature: NDArray
    """Rise above the initial temperature [K]."""
    water: NDArray
    """[kg/m3]."""
    conversion: NDArray
    """Share of the solids that has turned to char [-]."""
    damage: NDArray
    """Omega of each process [-], (processes, n, cells)."""
    damage_rise: NDArray
    """Rise when damage was last added up [K]."""
    dose: NDArray
    """CEM43 [s]; (0, 0) when not asked for."""
    floor: NDArray
    """Exposed cell of each column [index], (n,)."""
    left: NDArray
    """Height of each exposed cell over that of the grid's [-], (n,): less as it burns off, more as it takes
    in what was left of the one above."""
    front: NDArray
    """Depth of each column's front [m], (n,)."""
    changed: NDArray
    """Cell from which each column still has its water and no char [index], (n,)."""
    thrown: NDArray
    """Depth thrown out since the pulse began [m], (n,): it decides the film's thickness."""
    debris: NDArray
    """Heat that debris still takes from the beam [J/m2], (n,); below 0 if it took a little too much."""
    paid: NDArray
    """Irradiance that debris takes at present [W/m2], (n,)."""


class Surround(NamedTuple):
    """What exposed faces lose heat to."""

    exchange: float
    """Heat transfer coefficient [W/m2/K]."""
    radiates: float
    """1 if faces radiate, else 0 [-]."""
    initial: float
    """Temperature from which rises count [K]."""
    ambient: float
    """Temperature of the air [K]."""
    backing: float
    """Kind of backing: `ready.INSULATED`, `HELD` or `OPEN` [-]."""
    backing_rise: float
    """Rise of what lies behind the target [K]."""


class Rules(NamedTuple):
    """How a march steps, and what it does the same in every step."""

    transmittance: float
    """Share of the beam that gets through the plume [-]."""
    clearing: float
    """Time in which debris leaves the beam's path once the beam is off [s]."""
    copies: float
    """Symmetric copies of the grid that the whole target has [-]."""
    growth: float
    """A step is at most this share of the time since the last edge of the exposure [-]."""
    largest: float
    """No step is longer [s]."""
    largest_rise: float
    """The beam heats no cell by more than this in a step [K]."""
    front_share: float
    """A step is at most this share of the time in which the front crosses a cell [-]."""
    ahead: float
    """Times as long as a front that only ruptured would allow a step may be [-]."""
    escape: float
    """Time in which steam escapes that a step, over the front's share, takes at most [s]."""
    escape_least: float
    """Of the time in which the front crosses a cell: escape shortens steps no further [-]."""
    scanning: float
    """Longest step in which a moving beam stays near its cells [s]."""
    most_stages: int
    """Stages of conduction in the dark beyond which implicit ones take their place [-]."""
    damage_steps: float
    """Steps after which damage is added up [-]."""


class Falling(NamedTuple):
    """Light: what the beam sends and what of it falls on each column, in spells of equal length."""

    begin: float
    """When the first begins [s]."""
    spell: float
    """Length of each [s]."""
    sent: NDArray
    """Mean power sent in each [W], (spells,); one for a beam at rest, whose spell does not end."""
    power: NDArray
    """Mean power on each column in it [W], (spells, n)."""


class Span(NamedTuple):
    """Until when the march goes on without a look from outside."""

    edge: float
    """When the beam was last switched on or off [s]."""
    event: float
    """When it goes on or off next, or fields are to be kept [s]."""
    power: float
    """Power of the beam until then [W]; 0 while it is off."""
    cool: float
    """Temperature below which all is over [K]; -infinity while it cannot be."""
    most_updates: int
    """Cell updates after which to come back [-]."""
    axis: int
    """Column on the beam's axis [index]."""
