"""One worker thread for everything that touches the disk or takes time."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from typing import TypeVar

from kivy.clock import Clock, ClockEvent

from walkapp.errors import DeviceError, WalkappError
from walkapp.language import msg, tr

T = TypeVar("T")

LATER = 10
"""How many nice levels further down: work gets a tenth of what drawing gets. At 5, a third, one frame in
two hundred still took longer than 50 ms in ``tests/benchmarks/intake.py``."""

NO_MEMORY = msg(
    "This tablet had too little memory left for that; nothing that is recorded is lost. "
    "Close other apps and try once more."
)


class Worker:
    """Runs pieces of work one after the other and hands results to the thread that draws.

    Parameters
    ----------
    steps_back
        Whether the work lets everything else of the app go first where the processor has too much to do.
        Not for what a tap waits for.

    Attributes
    ----------
    no_memory
        Called, on the thread that draws, when a piece of work found no memory.
    """

    def __init__(self, *, steps_back: bool = False) -> None:
        self.no_memory: Callable[[], None] = _nothing
        self._pool = ThreadPoolExecutor(
            max_workers=1, thread_name_prefix="walkapp", initializer=_step_back if steps_back else None
        )
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
        except MemoryError:
            self._at_next_frame(self.no_memory)
            self._at_next_frame(lambda: failed(DeviceError(tr(NO_MEMORY))))
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

    def finish(self, most_s: float | None = None) -> bool:
        """Wait until everything given so far is on disk.

        Parameters
        ----------
        most_s
            How long to wait, in seconds; as long as it takes when none.

        Returns
        -------
        bool
            Whether it is.
        """
        done, _ = wait([self._pool.submit(lambda: None)], timeout=most_s)
        return bool(done)

    def close(self) -> None:
        """Finish, take no more work, and tell no more results."""
        self._pool.shutdown(wait=True)
        for event in self._waiting:
            event.cancel()


def _step_back() -> None:
    """Give the thread that calls a lower priority, where each thread has its own and may change it.

    Drawing has threads too where there is no graphics card, and what waits for them is every frame.
    """
    if sys.platform in ("linux", "android"):
        thread = threading.get_native_id()
        with contextlib.suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, thread, os.getpriority(os.PRIO_PROCESS, thread) + LATER)


def _nothing() -> None:
    """Nobody has memory to give back."""


def _raise(error: BaseException) -> None:
    raise error
