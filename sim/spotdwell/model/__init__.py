"""What is to be solved: frozen dataclasses in SI units, with no file format and no numerics in them."""
