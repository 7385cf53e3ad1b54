"""Long runs that are not part of ./tests/run."""
