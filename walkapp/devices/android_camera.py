"""The camera program of an Android tablet, asked for one picture.

Nothing of this could be tried on a tablet here; it is held to a stand-in that records the calls. References
from memory: Android developers, "Take photos" (``MediaStore.ACTION_IMAGE_CAPTURE``, ``EXTRA_OUTPUT``),
``androidx.core.content.FileProvider`` (``getUriForFile``, ``file_paths``) and
``Activity.startActivityForResult``. Read: python-for-android, module ``android.activity``, ``bind`` and
``unbind`` of ``on_activity_result``.

What the package has to declare, since only there it can be said which folders another program may write to:

* a ``provider`` ``androidx.core.content.FileProvider`` with the authority ``<package>.pictures``, not
  exported, ``grantUriPermissions`` on, and an XML resource of paths that covers the watched folder;
* the androidx library ``androidx.core:core``;
* where the permission CAMERA is declared for anything else, it has to be granted before the camera program
  is asked: Android then refuses programs that declare it and were not given it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from walkapp.language import msg, tr

_REQUEST = 0x5741
"""Number that tells our answer from those to other requests; any that fits 16 bits."""

_OK = -1
"""``Activity.RESULT_OK``."""

_NO_PICTURE = msg("The camera gave no picture; take it again, or choose a picture file.")
_NO_CAMERA = msg("The camera could not be opened; allow it in the settings, or choose a picture file.")


class AndroidCamera:
    """Asks the tablet's own camera program; see :class:`walkapp.presenters.devices.PictureSource`.

    Parameters
    ----------
    now
        The clock, for the names of pictures.
    when_drawn
        Runs a call on the thread that draws; answers come on a thread of the system.
    """

    word = "android_camera"

    def __init__(
        self, now: Callable[[], datetime], when_drawn: Callable[[Callable[[], None]], None]
    ) -> None:
        self._now = now
        self._when_drawn = when_drawn
        self._asked: _Asked | None = None

    @property
    def label(self) -> str:
        """What the button says."""
        return tr("Camera")

    def is_there(self) -> bool:
        """Whether this is an Android tablet."""
        try:
            import android.activity  # noqa: F401
            import jnius  # noqa: F401
        except Exception:
            # Elsewhere there are none, or one that finds no Java.
            return False
        return True

    def take(self, into: Path, taken: Callable[[Path], None], failed: Callable[[str], None]) -> None:
        """Ask for one picture; this program may be ended before the answer comes."""
        self.cancel()
        asked = _Asked(into / f"camera-{self._now():%Y%m%d-%H%M%S}.jpg", taken, failed)
        self._asked = asked
        try:
            from android import activity

            activity.bind(on_activity_result=self._answered)
            _start_camera(asked.path)
        except Exception:
            # Java's errors come as classes of their own: no camera program, or not allowed.
            self.cancel()
            failed(tr(_NO_CAMERA))

    def cancel(self) -> None:
        """Wait no longer; the camera program itself cannot be called back."""
        if self._asked is None:
            return
        self._asked = None
        try:
            from android import activity

            activity.unbind(on_activity_result=self._answered)
        except Exception:
            return  # It was never bound.

    def _answered(self, request: int, result: int, _data: Any) -> None:
        """Hear the answer, on a thread of the system, which goes through its listeners meanwhile."""
        if request == _REQUEST:
            self._when_drawn(lambda: self._end(result))

    def _end(self, result: int) -> None:
        asked = self._asked
        if asked is None:
            return
        self.cancel()
        try:
            is_there = result == _OK and asked.path.stat().st_size > 0
        except OSError:
            is_there = False
        if is_there:
            asked.taken(asked.path)
        else:
            asked.failed(tr(_NO_PICTURE))


class _Asked:
    """What was asked for."""

    def __init__(self, path: Path, taken: Callable[[Path], None], failed: Callable[[str], None]) -> None:
        self.path, self.taken, self.failed = path, taken, failed


def _start_camera(path: Path) -> None:
    """Start the camera program, and let it write one file and no other."""
    import jnius
    from android.config import ACTIVITY_CLASS_NAME

    here = jnius.autoclass(ACTIVITY_CLASS_NAME).mActivity
    intent_class = jnius.autoclass("android.content.Intent")
    store = jnius.autoclass("android.provider.MediaStore")
    file = jnius.autoclass("java.io.File")(str(path))
    address = jnius.autoclass("androidx.core.content.FileProvider").getUriForFile(
        here, f"{here.getPackageName()}.pictures", file
    )
    intent = intent_class(store.ACTION_IMAGE_CAPTURE)
    intent.putExtra(store.EXTRA_OUTPUT, jnius.cast("android.os.Parcelable", address))
    # The permission travels with the clip; on older Androids with nothing else.
    intent.setClipData(jnius.autoclass("android.content.ClipData").newRawUri("", address))
    intent.addFlags(
        intent_class.FLAG_GRANT_WRITE_URI_PERMISSION | intent_class.FLAG_GRANT_READ_URI_PERMISSION
    )
    here.startActivityForResult(intent, _REQUEST)
