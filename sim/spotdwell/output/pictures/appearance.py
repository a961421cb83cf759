"""Appearance: colours, grain and light of a surface from above. They are chosen, not computed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spotdwell.output.pictures.surface import Surface

Array = NDArray[np.float64]

_MOIST, _DRY_MATTER = (0.800, 0.455, 0.420), (0.850, 0.760, 0.600)
"""Untouched tissue, and untouched matter that does not coagulate (wood, potato, plastic)."""
_WHITENED, _STRAW, _WATER = (0.945, 0.885, 0.840), (0.830, 0.700, 0.490), (0.800, 0.900, 0.960)
_BURNT = ((0.830, 0.700, 0.490), (0.540, 0.340, 0.190), (0.250, 0.205, 0.185), (0.215, 0.195, 0.190))
"""From dry to charred, at conversions 0, 1/4, 1/2 and 1."""
_BEYOND = (0.90, 0.91, 0.92)
"""What is seen through a hole: a bright stage."""
_LIGHT = np.array([-0.5, 0.5, 1.0]) / np.sqrt(1.5)
"""Direction from which light comes: the upper left, as readers of pictures expect."""
_AMBIENT = 0.4
"""Share of light that has no direction [-]."""
_DEEP_LOSS = 0.45
"""Share of light that does not reach the deepest place [-]."""
_GRAIN = 3
"""Seed of the grain: the same result gives the same picture."""


def picture_of(
    surface: Surface, place: tuple[float, float, float, float], pixels: int, tissue: bool
) -> Array:
    """Colours of `place` (left, right, lower, upper [m]), 0 to 1, shape (rows, columns, 3), from above.

    The longer side has `pixels`; `tissue` says whether the target is tissue, which is moist and red.
    """
    left, right, lower, upper = place
    side = max(right - left, upper - lower) / pixels
    x = np.arange(left + 0.5 * side, right, side)
    y = np.arange(upper - 0.5 * side, lower, -side)
    mesh = np.meshgrid(x, y)
    share = {name: surface.seen(name, *mesh) for name in surface.values}
    colour = _coloured(share, _grain((y.size, x.size)), tissue)
    lit = colour * _light(share["depth"], side)[:, :, None]
    return np.clip(_mixed(lit, _BEYOND, share["through"]), 0.0, 1.0)


def _coloured(share: dict[str, Array], grain: tuple[Array, Array], tissue: bool) -> Array:
    """Colour of what lies open, without its relief."""
    fine, coarse = grain
    base = np.array(_MOIST if tissue else _DRY_MATTER)
    colour = base * (1.0 + 0.022 * coarse + 0.018 * fine)[:, :, None]
    colour = _mixed(colour, _WHITENED, share["coagulated"], 0.02 * fine + 0.015 * coarse)
    colour = _mixed(colour, _STRAW, share["dried"], 0.04 * fine + 0.02 * coarse)
    ramp = np.stack([np.interp(share["charred"], (0.0, 0.25, 0.5, 1.0), c) for c in np.transpose(_BURNT)], -1)
    burnt = np.clip(4.0 * share["charred"], 0.0, 1.0)[:, :, None]
    colour = colour * (1.0 - burnt) + ramp * burnt * (1.0 + 0.16 * fine + 0.06 * coarse)[:, :, None]
    return _mixed(colour, _WATER, 0.45 * share["liquid"])


def _mixed(
    colour: Array, other: tuple[float, float, float], share: Array, grain: Array | float = 0.0
) -> Array:
    weight = np.clip(share, 0.0, 1.0)[:, :, None]
    tint = np.array(other) * (1.0 + np.broadcast_to(grain, share.shape))[:, :, None]
    return np.asarray(colour * (1.0 - weight) + tint * weight)


def _light(depth: Array, side: float) -> Array:
    """Light on each pixel over that on the flat surface [-]: less on walls turned away and in the deep."""
    from scipy.ndimage import gaussian_filter

    smooth = gaussian_filter(depth, 2.0)
    down, across = np.gradient(-smooth, side)
    normal = np.stack([-across, down, np.ones_like(smooth)], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    direct = np.clip(normal @ _LIGHT, 0.0, None) / _LIGHT[2]
    deepest = float(depth.max(initial=0.0))
    shade = 1.0 - _DEEP_LOSS * smooth / deepest if deepest > 0.0 else 1.0
    return np.asarray((_AMBIENT + (1.0 - _AMBIENT) * direct) * shade)


def _grain(shape: tuple[int, int]) -> tuple[Array, Array]:
    """Fine and coarse grain of mean 0 and deviation 1."""
    from scipy.ndimage import gaussian_filter

    noise = np.random.default_rng(_GRAIN).standard_normal((2, *shape))
    fine, coarse = gaussian_filter(noise[0], 1.2), gaussian_filter(noise[1], max(shape) / 70.0)
    return fine / fine.std(), coarse / coarse.std()
