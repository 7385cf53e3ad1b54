"""The page that covers people: draw over a face or a name, and copies that leave have it covered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil, floor

from walkapp.actions.books import BookFacts, OutsideWalks, facts_of
from walkapp.actions.copies import Album, cover_all, cover_place, photo_of, uncover_last
from walkapp.actions.gallery import gallery_of
from walkapp.actions.pictures import Covering, Picture, covering_of
from walkapp.actions.reading import walk_facts
from walkapp.actions.reasons import UNCOVERED, UNDO
from walkapp.errors import InputError, WalkappError
from walkapp.language import tr, trn
from walkapp.model.boxes import Box
from walkapp.model.records import Record
from walkapp.presenters.frame import FrameState
from walkapp.presenters.gallery import where_words
from walkapp.presenters.observe import Observed
from walkapp.presenters.picture_choice import PictureTile, tile_of
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session


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


class CoverPage(Observed[CoverState]):
    """Presents one picture of a walk, to cover people in the copy of it that leaves the tablet.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page; it names the picture.
    """

    screen = "cover"

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(CoverState())
        self.session = session
        self.route = route
        self._large: Picture | None = None
        self._covering: Covering | None = None

    def open(self) -> None:
        """Read the picture and what is covered in it."""
        self.session.run_later(lambda: self._view(self._here()), self._show, self.fail)

    def lay(self, place: CoveredPlace) -> None:
        """Cover a place: on disk when the page says so. What lies beside the picture is left out."""
        self._record(
            lambda here: cover_place(self.session.place, here, self.route.picture, self._box(place))
        )

    def undo(self) -> None:
        """Take back the place that was covered last in this picture, whatever was recorded since."""
        self._record(lambda here: uncover_last(self.session.place, here, self.route.picture))

    def settle(self) -> None:
        """Make one copy that covers all that any tablet covered."""
        self._record(lambda here: cover_all(self.session.place, here, self.route.picture))

    def back(self) -> None:
        """Go back to where the picture was chosen."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, frame=replace(self.state.frame, problem=str(error))))

    def _here(self) -> Album:
        """Read where the picture is recorded."""
        return walk_facts(self.session.place, self.route.concern, self.route.walk)

    def _title(self, here: Album) -> str:
        """Say where the picture belongs."""
        stream = here.facts.stream
        station = stream.station(self.route.station) if stream else None
        return f"{station.order}  {station.name}" if station else here.facts.what

    def _record(self, work: Callable[[Album], Record]) -> None:
        def run() -> CoverState:
            made = work(self._here())
            here = self._here()
            state = self._view(here)
            return replace(state, frame=replace(state.frame, saved=_saved(made, here)))

        self.session.run_later(run, self._show, self.fail)

    def _box(self, place: CoveredPlace) -> Box:
        if self._covering is None:
            raise InputError(tr("The picture is still being read; try again in a moment."))
        width, height = self._covering.photo.width_px, self._covering.photo.height_px
        return Box(
            min(max(floor(place.left * width), 0), width - 1),
            min(max(floor(place.top * height), 0), height - 1),
            max(min(ceil(place.right * width), width), 1),
            max(min(ceil(place.bottom * height), height), 1),
        )

    def _view(self, here: Album) -> CoverState:
        found = covering_of(self.session.place, here, self.route.picture, self._large)
        self._covering, self._large = found, found.picture
        width, height = found.photo.width_px, found.photo.height_px
        return CoverState(
            frame=FrameState(
                title=self._title(here),
                subtitle=here.facts.what,
                undo=tr("last covered place") if found.boxes else "",
            ),
            picture=tile_of(found.picture),
            places=tuple(
                CoveredPlace(b.left / width, b.top / height, b.right / width, b.bottom / height)
                for b in found.boxes
            ),
            said=_said(found),
            kept=_kept(found),
            is_settled=found.is_settled,
        )


class CoverOutsidePage(CoverPage):
    """The same for a picture outside any walk: a limit sample, or evidence."""

    def _here(self) -> Album:
        return OutsideWalks(facts_of(self.session.place, self.route.concern))

    def _title(self, here: Album) -> str:
        return (
            tr("Picture of the audit")
            if isinstance(here.facts, BookFacts)
            else tr("Picture of the concern")
        )


class CoverPicturePage(CoverPage):
    """The same for any picture of a concern or book, in a walk or not: the route does not say which."""

    def _here(self) -> Album:
        facts = facts_of(self.session.place, self.route.concern)
        one = next((one for one in gallery_of(facts) if one.sha256 == self.route.picture), None)
        if one is None or not one.photos[0].walk:
            return OutsideWalks(facts)
        return walk_facts(self.session.place, self.route.concern, one.photos[0].walk)

    def _title(self, here: Album) -> str:
        return where_words(photo_of(here, self.route.picture), here.facts.stream)


def _saved(made: Record, here: Album) -> str:
    if made.why in (UNDO, UNCOVERED):
        return tr("Taken back")
    stream = here.facts.stream
    station = stream.station(getattr(made, "station", "")) if stream else None
    return (
        tr("On disk: covered place at {short}", short=station.short)
        if station
        else tr("On disk: covered place")
    )


def _said(found: Covering) -> str:
    if not found.boxes:
        return tr("Nothing is covered yet: draw over a face or a name.")
    covered = trn("{count} place covered.", "{count} places covered.", len(found.boxes))
    if not found.is_settled:
        return tr(
            "{covered} Two tablets covered different ones, so no copy leaves until one covers them all.",
            covered=covered,
        )
    return tr("{covered} Only a copy with them covered leaves this tablet.", covered=covered)


def _kept(found: Covering) -> str:
    if found.is_as_taken:
        return tr("The picture as it was taken stays on this tablet, unchanged.")
    return tr("This is a copy; the picture as it was taken is on the tablet that took it.")
