"""The solvers that meet ours: each is what its library makes easy, in double precision, on one core.

Each returns a function without arguments whose time counts, and which returns the rise [K]: arrays are laid
out and code is compiled before.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from peer_problem import HEATING, Cells

Array = NDArray[np.float64]
Contestant = Callable[[], Array]


def scipy_crank_nicolson(cells: Cells, steps: int, **options: Any) -> Contestant:
    """Crank-Nicolson; the time includes the sparse LU, whose `options` are SciPy's own unless given."""
    from scipy import sparse
    from scipy.sparse.linalg import splu

    rings, depths = cells.shape
    operator = sparse.kron(_tridiagonal(cells.inward, cells.outward), sparse.eye_array(depths))
    operator = sparse.csc_array(
        operator + sparse.kron(sparse.eye_array(rings), _tridiagonal(cells.up, cells.down))
    )
    one, half = sparse.eye_array(rings * depths, format="csc"), 0.5 * HEATING / steps
    before, after = sparse.csr_array(one + half * operator), sparse.csc_array(one - half * operator)
    heated = (2.0 * half * cells.heating).ravel()

    def solve() -> Array:
        factors = splu(after, **options)
        rise = np.zeros(rings * depths)
        for _ in range(steps):
            rise = factors.solve(before @ rise + heated)
        return rise.reshape(cells.shape)

    return solve


scipy_least_fill = partial(
    scipy_crank_nicolson,
    permc_spec="MMD_AT_PLUS_A",
    diag_pivot_thresh=0.0,
    options={"SymmetricMode": True},
)
"""The same with what suits a dominant diagonal and a symmetric pattern: half the fill."""


def numpy_explicit(cells: Cells, steps: int) -> Contestant:
    """Explicit Euler with whole-array operations into buffers."""
    step = HEATING / steps
    # Flow through a face times the ring's volume is the same from both sides.
    across = step * (cells.outward * cells.volume)[:-1, None]
    share, down = 1.0 / cells.volume[:, None], step * cells.down[0]
    heated = step * cells.heating
    flow, fall = (
        np.empty((cells.shape[0] - 1, cells.shape[1])),
        np.empty((cells.shape[0], cells.shape[1] - 1)),
    )

    def solve() -> Array:
        rise, change = np.zeros(cells.shape), np.empty(cells.shape)
        for _ in range(steps):
            np.subtract(rise[1:], rise[:-1], out=flow)
            np.multiply(flow, across, out=flow)
            np.subtract(rise[:, 1:], rise[:, :-1], out=fall)
            np.multiply(fall, down, out=fall)
            change[:-1], change[-1] = flow, 0.0
            change[1:] -= flow
            change *= share
            change += heated
            change[:, :-1] += fall
            change[:, 1:] -= fall
            rise += change
        return rise

    return solve


def jax_explicit(cells: Cells, steps: int) -> Contestant:
    """Explicit Euler, compiled by XLA for the processor."""
    import jax

    jax.config.update("jax_enable_x64", True)
    jax.config.update("jax_platforms", "cpu")
    import jax.numpy as jnp

    step = HEATING / steps
    inward, outward = (jnp.asarray(step * rate[:, None]) for rate in (cells.inward, cells.outward))
    up, down = jnp.asarray(step * cells.up), jnp.asarray(step * cells.down)
    heated = jnp.asarray(step * cells.heating)

    def advance(_: int, rise: jax.Array) -> jax.Array:
        wide = jnp.pad(rise, 1, mode="edge")
        flow = inward * (wide[:-2, 1:-1] - rise) + outward * (wide[2:, 1:-1] - rise)
        return rise + heated + flow + up * (wide[1:-1, :-2] - rise) + down * (wide[1:-1, 2:] - rise)

    march = jax.jit(lambda rise: jax.lax.fori_loop(0, steps, advance, rise)).lower(jnp.zeros(cells.shape))
    compiled = march.compile()
    return lambda: np.asarray(compiled(jnp.zeros(cells.shape)))


def devito_explicit(cells: Cells, steps: int) -> Contestant:
    """Explicit Euler in C that Devito generates and the system's compiler builds."""
    os.environ |= {"DEVITO_LOGGING": "ERROR", "DEVITO_LANGUAGE": "C"}
    from devito import Eq, Function, Grid, Operator, TimeFunction

    rings, depths = cells.shape
    step = HEATING / steps
    grid = Grid(shape=cells.shape, extent=(rings - 1, depths - 1), dtype=np.float64)
    r, z = grid.dimensions
    rise = TimeFunction(name="rise", grid=grid, time_order=1, space_order=2)
    heated = Function(name="heated", grid=grid)
    heated.data[:] = step * cells.heating

    def rates(name: str, dimension: object, values: Array) -> object:
        line = Function(name=name, grid=grid, dimensions=(dimension,), shape=values.shape, dtype=np.float64)
        line.data[:] = step * values
        return line

    inward, outward = rates("inward", r, cells.inward), rates("outward", r, cells.outward)
    up, down = rates("up", z, cells.up), rates("down", z, cells.down)
    flow = inward * (rise.subs({r: r - r.spacing}) - rise) + outward * (rise.subs({r: r + r.spacing}) - rise)
    flow += up * (rise.subs({z: z - z.spacing}) - rise) + down * (rise.subs({z: z + z.spacing}) - rise)
    march = Operator([Eq(rise.forward, rise + flow + heated)], subs=grid.spacing_map)
    march.apply(time_M=1)

    def solve() -> Array:
        rise.data[:] = 0.0
        march.apply(time_M=steps - 1)
        return np.array(rise.data[steps % 2])

    return solve


def _tridiagonal(before: Array, after: Array) -> object:
    from scipy import sparse

    return sparse.diags_array([before[1:], -(before + after), after[:-1]], offsets=[-1, 0, 1])
