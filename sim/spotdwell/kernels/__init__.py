"""Compiled kernels on plain arrays, SI; temperatures are rises above the initial temperature [K].

Legend: n columns, i a column, k a cell (0 at the surface), f a face between two columns. Arrays of state are
(n, cells) with depth contiguous; work arrays of rises have one ghost cell above and one below each column,
so that cell k stands at k + 1. The caller gives every array; a kernel allocates nothing.
"""
