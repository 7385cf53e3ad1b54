"""The photo page: choose a picture that a camera or a cable has put into the watched folder."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from walkapp.actions.pictures import Picture, kept_pictures, new_pictures, take_in
from walkapp.presenters.frame import FrameState, Sight, WalkPage
from walkapp.presenters.session import Route, Session


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureTile:
    """One picture to show small.

    Parameters
    ----------
    key
        What it is chosen by.
    caption
        Its name or what it shows.
    size
        Width and height of `pixels` in pixels.
    pixels
        Upright RGB, three bytes a pixel, top row first.
    """

    key: str
    caption: str
    size: tuple[int, int]
    pixels: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoState:
    """Everything the photo page shows.

    Parameters
    ----------
    frame
        What surrounds the page.
    folders
        Pairs of path and name of the folders to choose from.
    folder
        Path of the folder that is shown.
    found
        Pictures in that folder, newest first.
    kept
        Pictures recorded at this station.
    invitation
        What to do when there is no picture to choose.
    """

    frame: FrameState = FrameState()
    folders: tuple[tuple[str, str], ...] = ()
    folder: str = ""
    found: tuple[PictureTile, ...] = ()
    kept: tuple[PictureTile, ...] = ()
    invitation: str = ""


class PhotoPage(WalkPage[PhotoState]):
    """Presents the pictures of a station."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route, PhotoState())
        self._folder = session.picture_folders[0]

    def choose_folder(self, path: str) -> None:
        """Look into another of the known folders."""
        self._folder = Path(path)
        self.open()

    def choose(self, key: str) -> None:
        """Take a picture of the watched folder into the store and record it."""
        station, check = self.route.station, self.route.check
        self._record(lambda _: take_in(self._walking, Path(key), station=station, check=check))

    def cover(self, key: str) -> None:
        """Open the page that covers people in a recorded picture."""
        self.session.go(replace(self.route, screen="cover", picture=key))

    def _view(self, sight: Sight, frame: FrameState) -> PhotoState:
        place = self.session.place
        kept = kept_pictures(place, sight.walk.at_station(self.route.station), sight.walk.facts.standing)
        found = new_pictures(self._folder, sight.walk)
        folder = str(self._folder)
        return PhotoState(
            frame=frame,
            folders=tuple((str(path), path.name) for path in self.session.picture_folders),
            folder=folder,
            found=tuple(tile_of(picture) for picture in found),
            kept=tuple(tile_of(picture) for picture in kept),
            invitation=""
            if found
            else f"No new picture in {folder}. Take one with the camera, then look again.",
        )


def tile_of(picture: Picture) -> PictureTile:
    """Make a picture ready to be shown small."""
    return PictureTile(key=picture.key, caption=picture.caption, size=picture.size, pixels=picture.pixels)
