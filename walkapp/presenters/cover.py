"""The page that covers people: draw over a face or a name, and copies that leave have it covered."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor

from walkapp.actions.copies import cover_all, cover_place, uncover_last
from walkapp.actions.pictures import Covering, Picture, covering_of
from walkapp.errors import InputError
from walkapp.model.boxes import Box
from walkapp.presenters.frame import FrameState, Sight, WalkPage
from walkapp.presenters.photo import PictureTile, tile_of
from walkapp.presenters.session import Route, Session
from walkapp.presenters.wording import many


@dataclass(frozen=True, slots=True)
class CoveredPlace:
    """A covered place, in shares of the upright picture from its upper left corner, 0 to 1."""

    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverState:
    """Everything the page shows.

    Parameters
    ----------
    frame
        Title, undo, what was saved and what went wrong.
    picture
        The picture, large and upright; none until it is read.
    places
        What is covered in the copy.
    said
        How many places are covered, and what that means.
    kept
        Where the picture stays that the copy is made of.
    is_settled
        Whether one copy covers them all; not when two tablets covered different places.
    """

    frame: FrameState = FrameState()
    picture: PictureTile | None = None
    places: tuple[CoveredPlace, ...] = ()
    said: str = ""
    kept: str = ""
    is_settled: bool = True


class CoverPage(WalkPage[CoverState]):
    """Presents one recorded picture, to cover people in the copy of it that leaves the tablet."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route, CoverState())
        self._large: Picture | None = None
        self._covering: Covering | None = None

    def lay(self, place: CoveredPlace) -> None:
        """Cover a place: on disk when the page says so. What lies beside the picture is left out."""
        self._record(
            lambda walk: cover_place(self.session.place, walk, self.route.picture, self._box(place))
        )

    def undo(self) -> None:
        """Take back the place that was covered last in this picture, whatever was recorded since."""
        self._record(lambda walk: uncover_last(self.session.place, walk, self.route.picture))

    def settle(self) -> None:
        """Make one copy that covers all that any tablet covered."""
        self._record(lambda walk: cover_all(self.session.place, walk, self.route.picture))

    def _box(self, place: CoveredPlace) -> Box:
        if self._covering is None:
            raise InputError("The picture is still being read; try again in a moment.")
        width, height = self._covering.photo.width_px, self._covering.photo.height_px
        return Box(
            min(max(floor(place.left * width), 0), width - 1),
            min(max(floor(place.top * height), 0), height - 1),
            max(min(ceil(place.right * width), width), 1),
            max(min(ceil(place.bottom * height), height), 1),
        )

    def _view(self, sight: Sight, frame: FrameState) -> CoverState:
        found = covering_of(self.session.place, sight.walk, self.route.picture, self._large)
        self._covering, self._large = found, found.picture
        width, height = found.photo.width_px, found.photo.height_px
        return CoverState(
            frame=replace(frame, undo="last covered place" if found.boxes else ""),
            picture=tile_of(found.picture),
            places=tuple(
                CoveredPlace(b.left / width, b.top / height, b.right / width, b.bottom / height)
                for b in found.boxes
            ),
            said=_said(found),
            kept=_kept(found),
            is_settled=found.is_settled,
        )


def _said(found: Covering) -> str:
    if not found.boxes:
        return "Nothing is covered yet: draw over a face or a name."
    covered = f"{many(len(found.boxes), 'place')} covered."
    if not found.is_settled:
        return f"{covered} Two tablets covered different ones, so no copy leaves until one covers them all."
    return f"{covered} Only a copy with them covered leaves this tablet."


def _kept(found: Covering) -> str:
    if found.is_as_taken:
        return "The picture as it was taken stays on this tablet, unchanged."
    return "This is a copy; the picture as it was taken is on the tablet that took it."
