"""Indicators: figures that watch what has to go right, from a fixed set, each with its counting rule."""
