"""Places in the small arrays that kernels write numbers into, by name."""

from __future__ import annotations

from enum import IntEnum


class Term(IntEnum):
    """Terms of the energy ledger [J], and of what is booked for a column [J/m2] (eq. 16)."""

    INCIDENT = 0
    """What the beam sends [J]."""
    OUTSIDE = 1
    """What of it falls beside the grid [J]."""
    REFLECTED = 2
    """At exposed faces [J]."""
    PLUME = 3
    """Taken by plume and debris [J]."""
    TRANSMITTED = 4
    """Out through the bottom [J]."""
    STORED = 5
    """What the target holds above its initial state [J]."""
    LATENT = 6
    """Heat of vaporisation of steam that has gone [J]."""
    VENTED = 7
    """Sensible heat of steam and pyrolysis gas [J]."""
    REACTION = 8
    """Heat of pyrolysis [J]."""
    CARRIED = 9
    """Sensible heat of what was removed [J]."""
    SURFACE = 10
    """Lost through exposed faces [J]."""
    BACKING = 11
    """Lost through the bottom [J]."""
    BLOOD = 12
    """Carried off by blood [J]."""


TERMS = len(Term)
MASS = TERMS
"""Place behind the ledger's terms: mass removed [kg or kg/m2]."""
BOOKED = MASS + 1
"""Length of an array of terms with the mass behind them."""


class Tally(IntEnum):
    """What a march carries from step to step."""

    TIME = 0
    """[s]."""
    STEP = 1
    """The last step [s]."""
    NEXT = 2
    """The step that was chosen last [s]."""
    EXPLICIT = 3
    """Longest stable explicit step [s]; 0 before the first is known."""
    MOVED = 4
    """Most cells that a front moved over in the last step [-]."""
    UNHURT = 5
    """Time since damage was last added up [s]."""
    WAITED = 6
    """Steps since then [-]."""
    PEAK = 7
    """Highest rise of what is left [K]."""
    HIGHEST = 8
    """Highest of those at any time [K]."""
    STEPS = 9
    """[-]."""
    STAGES = 10
    """Of conduction, summed over steps [-]."""
    UPDATES = 11
    """Cells updated, summed over stages [-]."""
    PENDING = 12
    """A step whose heat is to flow outside of `advance` before it goes on [s]; else 0."""
    LOST = 13
    """What flowed then through exposed faces [J]."""
    BELOW = 14
    """And through the bottom [J]."""


class Row(IntEnum):
    """What is recorded of a step; the ledger's terms [J] follow."""

    TIME = 0
    """[s]."""
    POWER = 1
    """[W]."""
    DEPTH = 2
    """Depth of the front on the beam's axis [m]."""
    DEEPEST = 3
    """Of all fronts [m]."""
    PEAK = 4
    """Highest temperature of what is left [K]."""
    SURFACE = 5
    """Temperature of the exposed cell on the axis [K]; NaN once it is perforated."""


LEDGER = len(Row)
"""Place in a recorded row where the ledger begins."""
ROW = LEDGER + TERMS
"""Length of a recorded row."""
