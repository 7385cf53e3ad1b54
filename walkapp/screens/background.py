"""One worker thread for everything that touches the disk or takes time."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from kivy.clock import Clock

from walkapp.errors import WalkappError

T = TypeVar("T")


class Worker:
    """Runs pieces of work one after the other and hands results to the thread that draws."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="walkapp")

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
            Clock.schedule_once(lambda _: failed(told))
        except BaseException as error:
            # A programmer's mistake must not vanish in a thread: it is raised where it is seen.
            mistake = error
            Clock.schedule_once(lambda _: _raise(mistake))
        else:
            Clock.schedule_once(lambda _: done(result))

    def finish(self) -> None:
        """Wait until everything given so far is on disk."""
        self._pool.submit(lambda: None).result()

    def close(self) -> None:
        """Finish, and take no more work."""
        self._pool.shutdown(wait=True)


def _raise(error: BaseException) -> None:
    raise error
