"""A camera that OpenCV can open, on desktops and tablets with Windows: to aim and to take a picture.

OpenCV fails in many ways where a camera is missing, used by another program or pulled out: it raises errors
of its own, returns nothing, or waits for seconds. So it is used in a thread of its own, every error there
becomes one sentence, and nobody waits longer than is said below. The library is imported in that thread.
"""

from __future__ import annotations

import importlib.util
import sys
import threading
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from walkapp.errors import DeviceError
from walkapp.files import write_atomically
from walkapp.language import msg, tr
from walkapp.presenters.devices import Frame

PREVIEW_PX = 960
"""Longest side of a frame that is shown; older graphics chips have no time for more."""

JPEG_QUALITY = 95

LARGEST = (4096, 3072)
"""Width and height that a camera is asked for; it gives the nearest that it has (from memory)."""

LEAVE_S = 2.0
"""How long closing waits for the camera; one that hangs longer is left to itself."""

_NO_CAMERA = msg(
    "No camera answers; plug one in, close other programs that use it, or choose a picture file."
)
_GONE = msg("The camera gives no pictures any more; plug it in again, or choose a picture file.")
_NOT_OPEN = msg("The camera is not open; open its page again.")


class OpenCvCamera:
    """A live view and still camera; see :class:`walkapp.presenters.devices.StillCamera`.

    Parameters
    ----------
    now
        The clock, for the names of pictures.
    source
        Number of the camera, 0 for the first, or what else OpenCV opens as one, such as ``f_%02d.jpg``.
    open_s, stall_s
        How long opening may take, and how long a camera may give no frame, in seconds; guesses, no source.
    """

    def __init__(
        self,
        now: Callable[[], datetime],
        source: int | str = 0,
        *,
        open_s: float = 15.0,
        stall_s: float = 5.0,
    ) -> None:
        self.turns = 0
        self._now = now
        self._source = source
        self._open_s, self._stall_s = open_s, stall_s
        self._reader: _Reader | None = None
        self._given = 0

    def is_there(self) -> bool:
        """Whether the library is there and, where the system tells, a camera."""
        if hasattr(sys, "getandroidapilevel"):
            return False  # There the system's own camera takes the pictures.
        try:
            if importlib.util.find_spec("cv2") is None:
                return False
        except (ImportError, ValueError):
            return False
        if sys.platform == "linux" and isinstance(self._source, int):
            return any(Path("/dev").glob("video*"))
        return True

    def open(self) -> None:
        """Start, and wait for the first frame."""
        if self._reader is not None and not self._reader.trouble:
            return
        self.close()
        self._given = 0
        self._reader = _Reader(self._source, self._stall_s)
        self._reader.start()
        if not self._reader.ready.wait(self._open_s) or self._reader.trouble:
            self.close()
            raise DeviceError(tr(_NO_CAMERA))

    def frame(self) -> Frame | None:
        """Give the newest frame, upright and at most 960 pixels long; none when there is no newer one."""
        number, image = self._newest()
        if number == self._given:
            return None
        self._given = number
        try:
            return _frame_of(image, self.turns)
        except Exception as error:
            raise DeviceError(tr(_GONE)) from error

    def take(self, into: Path) -> Path:
        """Write the newest picture as JPEG, as large as it came."""
        _, image = self._newest()
        try:
            data = _jpeg_of(image, self.turns)
        except Exception as error:
            raise DeviceError(tr(_GONE)) from error
        name = f"camera-{self._now():%Y%m%d-%H%M%S}"
        path, number = into / f"{name}.jpg", 2
        while path.exists():
            path, number = into / f"{name}-{number}.jpg", number + 1
        try:
            write_atomically(path, data)
        except OSError as error:
            raise DeviceError(
                tr(
                    "The picture could not be written to {into}; free some room and take it again.",
                    into=into,
                )
            ) from error
        return path

    def close(self) -> None:
        """Let go of the camera; one that hangs is left to itself."""
        if self._reader is not None:
            self._reader.end()
            self._reader = None

    def _newest(self) -> tuple[int, Any]:
        if self._reader is None:
            raise DeviceError(tr(_NOT_OPEN))
        if self._reader.trouble:
            raise DeviceError(tr(_GONE))
        return self._reader.newest


class _Reader(threading.Thread):
    """Reads one camera until it is told to end, and holds nothing but the newest picture."""

    def __init__(self, source: int | str, stall_s: float) -> None:
        super().__init__(name="walkapp-camera", daemon=True)
        self.ready = threading.Event()
        self.trouble = False
        self.newest: tuple[int, Any] = (0, None)
        self._source, self._stall_s = source, stall_s
        self._ended = threading.Event()

    def run(self) -> None:
        capture = None
        try:
            import cv2

            capture = cv2.VideoCapture(self._source)
            if isinstance(self._source, int):
                _ask_for_large_pictures(cv2, capture)
            self._read(capture)
        except Exception:
            # Whatever the library raises means the same for the person: no camera.
            self.trouble = True
        finally:
            self.ready.set()
            try:
                if capture is not None:
                    capture.release()
            except Exception:
                self.trouble = True

    def _read(self, capture: Any) -> None:
        last_s = time.monotonic()
        while not self._ended.is_set():
            is_read, image = capture.read()
            if is_read and image is not None and image.size:
                last_s = time.monotonic()
                self.newest = (self.newest[0] + 1, image)
                self.ready.set()
            elif not self.newest[0] and not capture.isOpened():
                raise DeviceError(tr(_NO_CAMERA))
            elif time.monotonic() - last_s > self._stall_s:
                raise DeviceError(tr(_GONE))
            else:
                self._ended.wait(0.02)

    def end(self) -> None:
        """End, and wait a little until the camera is let go of."""
        self._ended.set()
        self.join(timeout=LEAVE_S)


def _ask_for_large_pictures(cv2: Any, capture: Any) -> None:
    """Ask for packed pictures, since others hardly get through a cable, and for the largest."""
    width_px, height_px = LARGEST
    capture.set(cv2.CAP_PROP_FOURCC, cv2.VideoWriter_fourcc(*"MJPG"))
    capture.set(cv2.CAP_PROP_FRAME_WIDTH, width_px)
    capture.set(cv2.CAP_PROP_FRAME_HEIGHT, height_px)


def _upright(cv2: Any, image: Any, turns: int) -> Any:
    """Give three colours, turned by quarters to the right."""
    if image.ndim == 2:
        image = cv2.cvtColor(image, cv2.COLOR_GRAY2BGR)
    codes = {1: cv2.ROTATE_90_CLOCKWISE, 2: cv2.ROTATE_180, 3: cv2.ROTATE_90_COUNTERCLOCKWISE}
    return cv2.rotate(image, codes[turns % 4]) if turns % 4 else image


def _frame_of(image: Any, turns: int) -> Frame:
    import cv2

    height, width = image.shape[:2]
    if (scale := PREVIEW_PX / max(width, height)) < 1:
        size = (max(1, round(width * scale)), max(1, round(height * scale)))
        image = cv2.resize(image, size, interpolation=cv2.INTER_AREA)
    image = cv2.cvtColor(_upright(cv2, image, turns), cv2.COLOR_BGR2RGB)
    return Frame(size=(image.shape[1], image.shape[0]), pixels=image.tobytes())


def _jpeg_of(image: Any, turns: int) -> bytes:
    import cv2

    is_packed, data = cv2.imencode(
        ".jpg", _upright(cv2, image, turns), [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY]
    )
    if not is_packed:
        raise DeviceError(tr(_GONE))
    return bytes(data.tobytes())
