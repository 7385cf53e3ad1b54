"""Chance, as the analysis is given it: it knows no source of its own."""

from __future__ import annotations

from typing import Protocol


class Chance(Protocol):
    """Gives random numbers; a ``random.Random`` fits."""

    def random(self) -> float:
        """Give the next number, uniform from 0 up to but not including 1."""
