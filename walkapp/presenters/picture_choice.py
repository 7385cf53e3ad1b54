"""What pages show on which pictures are chosen."""

from __future__ import annotations

from dataclasses import dataclass

from walkapp.actions.pictures import Picture
from walkapp.language import msg, tr
from walkapp.presenters.rows import ListRow

MARKS = {"waiting": "open", "reading": "undecided", "on_disk": "chosen", "failed": "error"}
WORDS = {
    "waiting": msg("Waiting"),
    "reading": msg("Being read"),
    "on_disk": msg("On disk"),
    "failed": msg("Not recorded"),
}


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
    state
        ``waiting``, ``reading``, ``on_disk`` or ``failed``; empty for one that can be chosen and was not.
    """

    key: str
    caption: str
    size: tuple[int, int]
    pixels: bytes
    state: str = ""

    @property
    def mark(self) -> str:
        """Shape of the state; empty for none."""
        return MARKS.get(self.state, "")

    @property
    def word(self) -> str:
        """The state in words; empty for none."""
        return tr(WORDS.get(self.state, ""))


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureChoice:
    """What a page shows on which pictures are taken in.

    Parameters
    ----------
    heading
        What a tap on a found picture does.
    sources
        Pairs of word and label of what a new picture can be had from.
    asking
        What is being waited for, in words; empty for nothing.
    folders
        Pairs of path and name of the folders to begin with; the last is to browse.
    folder
        Path of the folder that is shown, or the word of the last choice while somebody browses.
    rows
        Folders to go on to, the one above first; empty unless somebody browses.
    place
        Which folder is shown and how many of its pictures, in words.
    found
        Pictures in that folder, newest first.
    has_newer, has_older
        Whether the folder has more pictures before and after those.
    kept_heading
        What the recorded pictures are, and what a tap on one does; empty while there are none.
    kept
        Pictures recorded here.
    invitation
        What to do when there is no picture to choose, and what cannot be chosen yet.
    """

    heading: str = ""
    sources: tuple[tuple[str, str], ...] = ()
    asking: str = ""
    folders: tuple[tuple[str, str], ...] = ()
    folder: str = ""
    rows: tuple[ListRow, ...] = ()
    place: str = ""
    found: tuple[PictureTile, ...] = ()
    has_newer: bool = False
    has_older: bool = False
    kept_heading: str = ""
    kept: tuple[PictureTile, ...] = ()
    invitation: str = ""


def tile_of(picture: Picture, state: str = "") -> PictureTile:
    """Make a picture ready to be shown small."""
    return PictureTile(
        key=picture.key, caption=picture.caption, size=picture.size, pixels=picture.pixels, state=state
    )
