"""The devices of the tablet that this runs on, joined."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from walkapp.devices.android_camera import AndroidCamera
from walkapp.devices.clipboard import KivyClipboard
from walkapp.devices.drives import drives
from walkapp.devices.feedback import answers_here
from walkapp.devices.live_camera import OpenCvCamera
from walkapp.devices.system import system_locales
from walkapp.languages import nearest
from walkapp.presenters.devices import Devices


def devices_here(now: Callable[[], datetime], when_drawn: Callable[[Callable[[], None]], None]) -> Devices:
    """Give the devices; nothing is opened or loaded yet, and whether they are there is asked later.

    Parameters
    ----------
    now
        The clock.
    when_drawn
        Runs a call on the thread that draws.
    """
    camera = OpenCvCamera(now)
    return Devices(
        sources=(AndroidCamera(now, when_drawn),),
        live=camera,
        still=camera,
        drives=drives,
        feedback=answers_here(),
        clipboard=KivyClipboard(),
        language=nearest(*system_locales()),
    )
