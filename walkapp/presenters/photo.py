"""The photo page: choose a picture that a camera or a cable has put into the watched folder."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from walkapp.actions.intake import Subject
from walkapp.actions.pictures import Picture, kept_pictures, new_pictures, take_in
from walkapp.model.records import Record
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
class PictureChoice:
    """What a page shows on which pictures are taken in.

    Parameters
    ----------
    heading
        What a tap on a found picture does.
    folders
        Pairs of path and name of the folders to choose from.
    folder
        Path of the folder that is shown.
    found
        Pictures in that folder, newest first.
    kept_heading
        What the recorded pictures are, and what a tap on one does; empty while there are none.
    kept
        Pictures recorded here.
    invitation
        What to do when there is no picture to choose.
    """

    heading: str = ""
    folders: tuple[tuple[str, str], ...] = ()
    folder: str = ""
    found: tuple[PictureTile, ...] = ()
    kept_heading: str = ""
    kept: tuple[PictureTile, ...] = ()
    invitation: str = ""


def picture_choice(
    session: Session,
    folder: Path,
    records: Iterable[Record],
    kept: Iterable[Picture],
    *,
    heading: str,
    kept_heading: str,
) -> PictureChoice:
    """Offer the new pictures of a folder, and show those that are recorded.

    Parameters
    ----------
    session
        Knows the folders.
    folder
        The one to look into.
    records
        Pictures of these are not offered any more.
    kept
        Recorded pictures to show.
    heading, kept_heading
        What stands above the two.
    """
    found = new_pictures(folder, records)
    tiles = tuple(tile_of(picture) for picture in kept)
    return PictureChoice(
        heading=heading,
        folders=tuple((str(path), path.name) for path in session.picture_folders),
        folder=str(folder),
        found=tuple(tile_of(picture) for picture in found),
        kept_heading=kept_heading if tiles else "",
        kept=tiles,
        invitation=""
        if found
        else f"No new picture in {folder}. Take one with the camera, then look again.",
    )


def tile_of(picture: Picture) -> PictureTile:
    """Make a picture ready to be shown small."""
    return PictureTile(key=picture.key, caption=picture.caption, size=picture.size, pixels=picture.pixels)


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoState:
    """Everything the photo page shows.

    Parameters
    ----------
    frame
        What surrounds the page.
    choice
        Pictures to choose from, and those recorded at this station.
    """

    frame: FrameState = FrameState()
    choice: PictureChoice = PictureChoice()


class PhotoPage(WalkPage[PhotoState]):
    """Presents the pictures of a station."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route, PhotoState())
        self._folder = session.picture_folders[0]

    def look_again(self) -> None:
        """Read everything anew."""
        self.open()

    def choose_folder(self, path: str) -> None:
        """Look into another of the known folders."""
        self._folder = Path(path)
        self.open()

    def choose(self, key: str) -> None:
        """Take a picture of the watched folder into the store and record it."""
        at = self.route
        subject = Subject(concern=at.concern, walk=at.walk, station=at.station, check=at.check)
        self._record(lambda _: take_in(self.session.place, subject, Path(key)))

    def cover(self, key: str) -> None:
        """Open the page that covers people in a recorded picture."""
        self.session.go(replace(self.route, screen="cover", picture=key))

    def to_gallery(self) -> None:
        """Open the page of all pictures, at this station to begin with."""
        self.session.go(self.route.down("gallery"))

    def compare(self, key: str) -> None:
        """Hold a recorded picture against the limit samples."""
        self.session.go(self.route.down("compare", picture=key))

    def _view(self, sight: Sight, frame: FrameState) -> PhotoState:
        here = sight.walk.at_station(self.route.station)
        choice = picture_choice(
            self.session,
            self._folder,
            sight.walk.current,
            kept_pictures(self.session.place, here, sight.walk.facts.standing),
            heading="Tap a picture to record it here",
            kept_heading="Recorded at this station; tap one to cover people in it",
        )
        return PhotoState(frame=frame, choice=choice)
