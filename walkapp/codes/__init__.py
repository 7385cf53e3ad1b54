"""Two-dimensional and bar codes: what is written in them, reading them and drawing them."""
