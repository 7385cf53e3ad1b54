"""What the tablet itself can do, as the pages see it: take pictures, show a live view, answer by sound.

These are interfaces of our own. What stands behind them is chosen where the app is put together
(``walkapp.devices``), so that no page knows a platform and every test can bring its own device.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from walkapp.language import ENGLISH


class PictureSource(Protocol):
    """Something that a new picture can be had from, such as the tablet's own camera."""

    @property
    def word(self) -> str:
        """Its name in the program, never shown: letters, digits and underscores."""

    @property
    def label(self) -> str:
        """What the button says."""

    def is_there(self) -> bool:
        """Whether a picture can be had from it now; never raises."""

    def take(self, into: Path, taken: Callable[[Path], None], failed: Callable[[str], None]) -> None:
        """Ask for one picture.

        Parameters
        ----------
        into
            A folder that exists; the file is put there under a new name, whole.
        taken
            Told the file, on the thread that draws; never called after `cancel`.
        failed
            Told why there is none, in one plain sentence, on the thread that draws.
        """

    def cancel(self) -> None:
        """Give up the picture that was asked for, if any, and let go of the device."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One picture of a live view.

    Parameters
    ----------
    size
        Width and height in pixels, each at least 1.
    pixels
        Width x height x 3 bytes: red, green, blue, rows from top to bottom.
    """

    size: tuple[int, int]
    pixels: bytes


class LiveView(Protocol):
    """A camera whose picture can be watched: to aim, and to read codes with."""

    def open(self) -> None:
        """Start; raises :class:`walkapp.errors.DeviceError` where there is no camera."""

    def frame(self) -> Frame | None:
        """Give the newest frame; none when there is no newer one than was given last.

        Called on the worker thread. Raises :class:`walkapp.errors.DeviceError` when the camera is gone.
        """

    def close(self) -> None:
        """Let go of the camera; does no harm twice."""


class StillCamera(LiveView, Protocol):
    """A live view that also takes pictures, as large as the camera makes them."""

    turns: int
    """By how many quarter turns to the right frames and pictures are turned to stand upright: 0 to 3."""

    def is_there(self) -> bool:
        """Whether there may be a camera; never raises. Whether it answers shows when it is opened."""

    def take(self, into: Path) -> Path:
        """Write the newest picture into a folder that exists, whole and upright; give its path.

        Called on the worker thread, between `open` and `close`. Raises
        :class:`walkapp.errors.DeviceError` when the camera is gone or the disk refuses.
        """


class Feedback(Protocol):
    """Answers a touch without being looked at: by a sound or a short buzz, where the device has it."""

    @property
    def ways(self) -> frozenset[str]:
        """What the device has of ``sound`` and ``buzz``; may take a moment when it is asked first."""

    def tell(self, what: str, how: str) -> None:
        """Say that something has happened; never waits and never raises.

        Parameters
        ----------
        what
            ``recorded``, ``taken_back`` or ``refused``; each is told from the others without looking.
        how
            ``sound``, ``buzz`` or ``both``.
        """


class Silent:
    """A device that makes no sound."""

    ways: frozenset[str] = frozenset()

    def tell(self, what: str, how: str) -> None:
        """Say nothing."""


SILENT = Silent()


class Clipboard(Protocol):
    """What was copied in another program."""

    def has_text(self) -> bool:
        """Whether there may be a text; never raises."""

    def text(self) -> str:
        """Give the text; empty when there is none. Never raises."""


def no_drives() -> tuple[Path, ...]:
    """Know of no cards or drives."""
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Devices:
    """What there is on this tablet.

    Parameters
    ----------
    sources
        Where new pictures may come from, the best first; looked at again whenever a page is opened.
    live
        The camera to aim with; none where there is none.
    still
        The camera to take pictures with in a page of our own; none where there is none.
    drives
        Gives the folders of the cards and drives that are plugged in now; called on a worker, never raises.
    feedback
        Answers touches.
    clipboard
        What can be pasted; none where nothing can.
    language
        Code of the language that the tablet is set to, one of those that the program speaks.
    """

    sources: tuple[PictureSource, ...] = ()
    live: LiveView | None = None
    still: StillCamera | None = None
    drives: Callable[[], tuple[Path, ...]] = no_drives
    feedback: Feedback = SILENT
    clipboard: Clipboard | None = None
    language: str = ENGLISH.code
