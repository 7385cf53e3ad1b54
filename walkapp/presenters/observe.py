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

    def take_text(self, text: str) -> None:
        """Take what a gauge or a code reader has sent as if it were a keyboard.

        A page that has no use for it leaves it: none of its keys does anything else then.

        Parameters
        ----------
        text
            Everything up to the Enter or Tab that ended it, as it came: 2 to 4,096 characters, control
            characters among them. A key of which is not known what it wrote is U+FFFD.
        """

    def in_hand(self) -> dict[str, str] | None:
        """Give what was begun here and is no entry yet; it is kept when the page is left or the app ends.

        Returns
        -------
        dict or None
            Empty while there is nothing; none on a page that never has anything in hand, or that puts it on
            disk at every key, as forms do.
        """
        return None

    def look_again(self) -> None:
        """Show what may have changed while the app was away: another day, new pictures, new files.

        Pages that show nothing of the kind stay as they are.
        """

    def _show(self, state: S) -> None:
        self._state = state
        for listener in tuple(self._listeners):
            listener(state)
