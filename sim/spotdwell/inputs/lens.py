"""A lens and the beam on it as they are typed: quantity strings that become a checked table."""

from __future__ import annotations

from pydantic import ValidationError

from spotdwell.base.errors import together
from spotdwell.inputs import quantities as q
from spotdwell.inputs.complaints import schema_complaint
from spotdwell.inputs.light import OpticsTable
from spotdwell.inputs.shot import nothing

_NEEDED = {"focal_length": "125 mm", "input_diameter": "10 mm"}
"""What no lens goes without, with an example of each."""


class LensTable(OpticsTable):
    """A lens with the wavelength, and what is asked of it."""

    wavelength: q.Wavelength = 10.6e-6
    power: q.Power | None = None
    """On the target."""
    wanted: q.Length | None = None
    """Diameter that the surface should be given."""


def lens_of(**options: str | float | None) -> LensTable:
    """Table of the options that are not None. Raises InputError that names them."""
    given = {name: value for name, value in options.items() if value is not None}
    if missing := [name for name in _NEEDED if name not in given]:
        raise together([nothing(name, _NEEDED[name]) for name in missing], "settings")
    try:
        return LensTable.model_validate(given)
    except ValidationError as error:
        raise schema_complaint(error, LensTable, lambda key: key or "settings") from None
