"""The photo page: pictures of a station, chosen from folders or taken with a camera."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from walkapp.actions.intake import Subject
from walkapp.actions.pictures import kept_pictures
from walkapp.errors import WalkappError
from walkapp.language import tr
from walkapp.model.records import Photo
from walkapp.presenters.frame import FrameState, Sight, WalkPage, with_frame
from walkapp.presenters.picking import Picker, PicksPictures
from walkapp.presenters.picture_choice import PictureChoice
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session


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


class PhotoPage(PicksPictures, WalkPage[PhotoState]):
    """Presents the pictures of a station."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route, PhotoState())
        self.picker = Picker(
            session,
            " ".join(("photo", route.concern, route.walk, route.station, route.check)),
            self._subject,
            moved=self._refresh,
            kept=lambda photo: self._later(lambda _: photo),
            failed=self.fail,
        )

    def open(self) -> None:
        """Read the records, and look for pictures and cameras."""
        super().open()
        self.picker.open()

    def look_again(self) -> None:
        """Read everything anew."""
        self.open()

    def unwatch(self, listener: Callable[[PhotoState], None]) -> None:
        """The page is left."""
        self.picker.leave()
        super().unwatch(listener)

    def mark(self, key: str) -> None:
        """Open the page of a recorded picture, to mark it or to cover people in it."""
        self.session.go(self.route.down("mark", picture=key))

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong, and show pictures as they stand."""
        super().fail(error)
        self._show(replace(self.state, choice=self.picker.refreshed(self.state.choice)))

    def _subject(self) -> Subject:
        at = self.route
        return Subject(concern=at.concern, walk=at.walk, station=at.station, check=at.check)

    def _refresh(self) -> None:
        state = replace(self.state, choice=self.picker.refreshed(self.state.choice))
        if problem := self.picker.problem:
            state = with_frame(state, replace(state.frame, problem=problem))
        self._show(state)

    def to_gallery(self) -> None:
        """Open the page of all pictures, at this station to begin with."""
        self.session.go(self.route.down("gallery"))

    def compare(self, key: str) -> None:
        """Hold a recorded picture against the limit samples."""
        self.session.go(self.route.down("compare", picture=key))

    def _view(self, sight: Sight, frame: FrameState) -> PhotoState:
        here = sight.walk.at_station(self.route.station)
        place, give = self.session.place, self.session.thumbnails.give
        choice = self.picker.choice(
            frozenset(record.sha256 for record in sight.walk.current if isinstance(record, Photo)),
            kept_pictures(place, give, here, sight.walk.facts.standing),
            heading=tr("Tap a picture to record it here"),
            kept_heading=tr("The newest recorded at this station; tap one to mark it or to cover people"),
        )
        return PhotoState(frame=replace(frame, problem=self.picker.problem), choice=choice)
