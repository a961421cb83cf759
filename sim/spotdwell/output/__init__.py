"""Results kept and shown: HDF5, pictures and tables."""
