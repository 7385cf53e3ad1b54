"""Counts in, results out: pure functions from the standard library alone."""
