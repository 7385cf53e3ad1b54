"""Control charts: whether counts or values in the order of time vary as chance alone lets them."""
