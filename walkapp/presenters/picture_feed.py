"""Pictures on their way to a page: made aside, only those wanted now, handed over as they come."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from walkapp.actions.pictures import Picture
from walkapp.errors import WalkappError
from walkapp.presenters.session import RunLater

MOST_AT_ONCE = 4
"""Pictures of one piece of work; they are handed over together, at one frame."""


@dataclass(frozen=True, slots=True)
class Wish:
    """A picture that a page wants to show.

    Parameters
    ----------
    key
        SHA-256 of the recorded picture.
    version
        How it is shown, so that one that was covered since is another picture.
    longest_px
        Longest side, 1 to 2048.
    """

    key: str
    version: str
    longest_px: int


class PictureFeed:
    """Makes the pictures that are wanted, the first of them first.

    What is no longer wanted when its turn comes is never made.

    Parameters
    ----------
    aside
        A worker that no tap waits for.
    make
        Makes one picture; called on the worker.
    failed
        Called when one could not be made.
    """

    def __init__(
        self,
        aside: RunLater,
        make: Callable[[Wish], Picture],
        failed: Callable[[WalkappError], None],
    ) -> None:
        self._aside = aside
        self._make = make
        self._failed = failed
        self._lock = threading.Lock()
        self._wanted: list[Wish] = []
        self._is_running = False
        self._listeners: list[Callable[[Wish, Picture], None]] = []

    def watch(self, listener: Callable[[Wish, Picture], None]) -> None:
        """Call `listener` with each picture that was made, on the thread that draws."""
        self._listeners.append(listener)

    def unwatch(self, listener: Callable[[Wish, Picture], None]) -> None:
        """Stop calling `listener`."""
        self._listeners.remove(listener)

    def want(self, wishes: Sequence[Wish]) -> None:
        """Say what is wanted from now on, instead of all that was wanted before; call when drawing.

        Parameters
        ----------
        wishes
            What is not there yet, the most urgent first.
        """
        with self._lock:
            self._wanted = list(wishes)
        self._go_on()

    def _go_on(self) -> None:
        if self._wanted and not self._is_running:
            self._is_running = True
            self._aside(self._work, self._hand_over, self._give_up)

    def _work(self) -> list[tuple[Wish, Picture]]:
        made = []
        while len(made) < MOST_AT_ONCE and (wish := self._next()) is not None:
            made.append((wish, self._make(wish)))
        return made

    def _next(self) -> Wish | None:
        with self._lock:
            return self._wanted.pop(0) if self._wanted else None

    def _hand_over(self, made: list[tuple[Wish, Picture]]) -> None:
        self._is_running = False
        for wish, picture in made:
            for listener in tuple(self._listeners):
                listener(wish, picture)
        self._go_on()

    def _give_up(self, error: WalkappError) -> None:
        # The one that failed is not wanted any more, so that this comes to an end.
        self._is_running = False
        self._failed(error)
        self._go_on()
