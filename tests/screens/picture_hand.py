"""A hand in a window on the page of one picture: where it is marked, and where people are covered."""

from __future__ import annotations

from dataclasses import replace

from tests.cameras import Camera
from walkapp.app import window_app
from walkapp.demo.hand import Hand
from walkapp.demo.tour import TouchWalk


class PictureHand:
    """The hand on one tablet that shows the page of one picture; at its end nothing may be left running.

    Parameters
    ----------
    camera
        The tablet that took the picture.
    photo
        The picture.
    size, density
        Of the window, as for the hand.
    """

    def __init__(self, camera: Camera, photo, *, size=(1280, 800), density=1.0) -> None:
        self.camera, self.photo = camera, photo
        app = window_app(camera.desk.place, camera.folder / "camera", bundles=camera.folder / "bundles")
        self.hand = Hand(app, size=size, density=density, folder=camera.folder)
        self.walk = TouchWalk(camera, self.hand, camera.folder / "camera")
        self.walk.settle()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        assert self.hand.close() == []

    def go(self, screen, **where):
        """Go to a page of the picture."""
        self.hand.app.go(replace(self.camera.route, screen=screen, picture=self.photo.sha256, **where))
        self.walk.settle()

    @property
    def pad(self):
        return self.hand.find("pad")
