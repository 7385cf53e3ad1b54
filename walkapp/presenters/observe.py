"""How a screen follows its presenter."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

S = TypeVar("S")


class Observed(Generic[S]):
    """Holds one frozen view state and tells listeners of each new one.

    Parameters
    ----------
    state
        The first state.
    """

    def __init__(self, state: S) -> None:
        self._state = state
        self._listeners: list[Callable[[S], None]] = []

    @property
    def state(self) -> S:
        """Everything the screen shows."""
        return self._state

    def watch(self, listener: Callable[[S], None]) -> None:
        """Call `listener` now and with each new state."""
        self._listeners.append(listener)
        listener(self._state)

    def unwatch(self, listener: Callable[[S], None]) -> None:
        """Stop calling `listener`."""
        self._listeners.remove(listener)

    def _show(self, state: S) -> None:
        self._state = state
        for listener in tuple(self._listeners):
            listener(state)
