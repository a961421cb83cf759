"""A result as labelled arrays: an xarray dataset in SI."""

from __future__ import annotations

from typing import Any

import numpy as np

from spotdwell.base.errors import RunError
from spotdwell.output.layout import attributes_of, groups_of
from spotdwell.output.record import Record

_GROUPS = ("/", "history", "measures", "ledger")


def dataset_of(result: Record) -> Any:
    """`result` as a dataset; the ledger's terms are called ledger_NAME. Raises RunError without xarray."""
    try:
        import xarray
    except ImportError:
        raise RunError('xarray is not installed. Get it with: pip install "spotdwell[notebook]"') from None
    groups = groups_of(result)
    variables: dict[str, Any] = {}
    coordinates: dict[str, Any] = {}
    for group in _GROUPS:
        for one in groups[group]:
            # A term has the name of its running sum in the history.
            name = f"ledger_{one.name}" if group == "ledger" else one.name
            attributes = {"units": one.unit, "long_name": one.meaning}
            found = (one.dims, np.asarray(np.nan if one.values is None else one.values), attributes)
            (coordinates if one.is_coordinate else variables)[name] = found
    return xarray.Dataset(variables, coordinates, attributes_of(result))
