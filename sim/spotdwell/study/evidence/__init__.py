"""Evidence: closed forms, published experiments, grids, and the report that gathers them."""
