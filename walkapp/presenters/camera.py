"""The page of the live camera: what it sees, and one button that takes the picture."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from walkapp.errors import DeviceError, WalkappError
from walkapp.language import msg, tr
from walkapp.presenters.devices import Frame
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.settings import Setting

TURNS = Setting(
    word="camera_turns",
    label=msg("How the camera is built in"),
    options=(
        ("0", msg("Upright")),
        ("1", msg("Turned right")),
        ("2", msg("Upside down")),
        ("3", msg("Turned left")),
    ),
)
"""Set on the page of the camera itself, where it is seen what it does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraState:
    """Everything the page shows.

    Parameters
    ----------
    title
        What the page is.
    problem
        What went wrong; empty when nothing did.
    said
        How it stands, in words.
    frame
        What the camera sees; none until it answers.
    can_take
        Whether a picture can be taken now.
    """

    title: str = ""
    problem: str = ""
    said: str = ""
    frame: Frame | None = None
    can_take: bool = False


def _blank() -> CameraState:
    return CameraState(title=tr("Camera"), said=tr("The camera is being opened."))


class CameraPage(Observed[CameraState]):
    """Presents the live camera; the picture goes to the page that led here.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page.
    """

    screen = "camera"

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(_blank())
        self.session = session
        self.route = route
        self._is_open = self._is_ready = False
        self._is_waiting = False
        self._is_taking = False

    def open(self) -> None:
        """Open the camera."""
        camera = self.session.devices.still
        if camera is None:
            self.fail(DeviceError(tr("This tablet has no camera that the program can use; choose a file.")))
            return
        self._is_open = True
        self._show(_blank())

        def begin() -> None:
            camera.turns = int(self.session.settings.word(TURNS))
            camera.open()

        self.session.aside(begin, self._opened, self._gone)

    def _opened(self, _: None) -> None:
        if self._is_open:
            self._is_ready = True
            self._show(replace(self.state, said=tr("Aim, then take the picture.")))
            self.look()

    def look(self) -> None:
        """Ask for the newest frame; called many times a second while the page is shown."""
        camera = self.session.devices.still
        if camera is None or not self._is_ready or self._is_waiting:
            return
        self._is_waiting = True
        self.session.aside(camera.frame, self._seen, self._gone)

    def _seen(self, frame: Frame | None) -> None:
        self._is_waiting = False
        if frame is not None and self._is_open:
            self._show(replace(self.state, frame=frame, can_take=not self._is_taking))

    def take(self) -> None:
        """Take the picture, and go back to the page that it is for."""
        camera = self.session.devices.still
        if camera is None or not self.state.can_take or self._is_taking:
            return
        self._is_taking = True
        self._show(replace(self.state, can_take=False, said=tr("The picture is being written.")))
        folder = self.session.picture_folders[0]
        self.session.aside(lambda: camera.take(folder), self._taken, self._gone)

    def _taken(self, path: Path) -> None:
        self._is_taking = False
        if self._is_open:
            self.session.pictures.handed = path
            self.session.go(self.route.up())

    def turn(self) -> None:
        """Turn what the camera sees by a quarter to the right, for one that is built in sideways."""
        camera = self.session.devices.still
        if camera is None:
            return
        camera.turns = turns = (camera.turns + 1) % 4
        self.session.run_later(
            lambda: self.session.settings.set_to(TURNS, str(turns)), lambda _: None, self.fail
        )

    def close(self) -> None:
        """Let go of the camera: the page is left, or the app is not in front any more."""
        camera = self.session.devices.still
        if camera is not None and self._is_open:
            self._is_open = self._is_ready = self._is_waiting = self._is_taking = False
            self.session.aside(camera.close, lambda _: None, self.fail)

    def back(self) -> None:
        """Go back without a picture."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error), can_take=False, said=""))

    def _gone(self, error: WalkappError) -> None:
        if self._is_open:
            self.close()
            self.fail(error)
