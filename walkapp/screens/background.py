"""One worker thread for everything that touches the disk or takes time."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from kivy.clock import Clock, ClockEvent

from walkapp.errors import WalkappError

T = TypeVar("T")


class Worker:
    """Runs pieces of work one after the other and hands results to the thread that draws."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="walkapp")
        self._waiting: set[ClockEvent] = set()

    def __call__(
        self,
        work: Callable[[], T],
        done: Callable[[T], None],
        failed: Callable[[WalkappError], None],
    ) -> None:
        """Run `work` in its turn, then `done` or `failed` at the next frame."""
        self._pool.submit(self._run, work, done, failed)

    def _run(
        self,
        work: Callable[[], T],
        done: Callable[[T], None],
        failed: Callable[[WalkappError], None],
    ) -> None:
        try:
            result = work()
        except WalkappError as error:
            told = error
            self._at_next_frame(lambda: failed(told))
        except BaseException as error:
            # A programmer's mistake must not vanish in a thread: it is raised where it is seen.
            mistake = error
            self._at_next_frame(lambda: _raise(mistake))
        else:
            self._at_next_frame(lambda: done(result))

    def _at_next_frame(self, call: Callable[[], None]) -> None:
        def run(_dt: float) -> None:
            self._waiting.discard(event)
            call()

        event = Clock.create_trigger(run)
        self._waiting.add(event)
        event()

    def finish(self) -> None:
        """Wait until everything given so far is on disk."""
        self._pool.submit(lambda: None).result()

    def close(self) -> None:
        """Finish, take no more work, and tell no more results."""
        self._pool.shutdown(wait=True)
        for event in self._waiting:
            event.cancel()


def _raise(error: BaseException) -> None:
    raise error
