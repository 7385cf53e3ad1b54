"""What Android tells an app of its life: that memory is low, and how high the keyboard is.

Nothing of this was tried on a device: it follows Android's own guide ("Manage your app's memory",
``ComponentCallbacks2``; from memory) and the source of python-for-android 2026.5.9.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

TRIM_RUNNING_LOW = 10
"""From this level on a running app is asked to give memory back (``TRIM_MEMORY_RUNNING_LOW``). Of the
levels
above, 20 says only that nothing of the app is seen any more, and 40 to 80 that it may be ended soon."""


def when_memory_is_low(free: Callable[[], None]) -> bool:
    """Have a call made whenever Android says that memory is low.

    Parameters
    ----------
    free
        Called on a thread of the system: it has to hand over to the thread that draws.

    Returns
    -------
    bool
        Whether this is an Android tablet that will say so; elsewhere nothing happens.
    """
    try:
        import jnius  # late: only Android has them
        from android import config

        activity = jnius.autoclass(config.ACTIVITY_CLASS_NAME).mActivity
        listener = _listener(jnius, free)
        activity.getApplicationContext().registerComponentCallbacks(listener)
    except Exception:
        # Elsewhere there are no such modules, or one that finds no Java, whose errors are classes of their
        # own.
        return False
    _HELD.append(listener)
    return True


_HELD: list[Any] = []
"""Java holds no Python object: a listener that nobody holds would be gone when it is called."""


def _listener(jnius: Any, free: Callable[[], None]) -> Any:
    class Listener(jnius.PythonJavaClass):  # type: ignore[misc]
        __javainterfaces__ = ("android/content/ComponentCallbacks2",)
        __javacontext__ = "app"

        @jnius.java_method("(I)V")  # type: ignore[untyped-decorator]
        def onTrimMemory(self, level: int) -> None:  # noqa: N802  Java's name
            if level >= TRIM_RUNNING_LOW:
                free()

        @jnius.java_method("()V")  # type: ignore[untyped-decorator]
        def onLowMemory(self) -> None:  # noqa: N802  Java's name
            free()

        @jnius.java_method("(Landroid/content/res/Configuration;)V")  # type: ignore[untyped-decorator]
        def onConfigurationChanged(self, _new: Any) -> None:  # noqa: N802  Java's name
            pass

    return Listener()


def keyboard_px() -> int | None:
    """Give how many pixels the keyboard on the glass covers; none where this is no Android tablet.

    Kivy's own ``Window.keyboard_height`` is always 0 there with SDL2, as its documentation says.
    """
    try:
        import android  # late: only Android has it

        return int(android.get_keyboard_height())
    except Exception:
        return None
