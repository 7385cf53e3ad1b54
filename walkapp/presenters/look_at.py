"""One picture large, alone or beside the limit samples OK and NOK of its concern."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from walkapp.actions.gallery import GalleryPicture
from walkapp.actions.pictures import SMALL_PX, Picture
from walkapp.analysis.wording import capital, in_one_line
from walkapp.errors import InputError, WalkappError
from walkapp.language import msg, tr, trn
from walkapp.model.checklist import Stream
from walkapp.presenters.board import BoardButton
from walkapp.presenters.gallery import (
    Gallery,
    compared_keys,
    keys_of,
    read_gallery,
    record_words,
    state_words,
    view_of,
    wished_picture,
)
from walkapp.presenters.judging import LIMIT_MARKS
from walkapp.presenters.observe import Observed
from walkapp.presenters.picture_feed import PictureFeed, Wish
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.wording import SAMPLE_WORDS

LARGEST_PX = 2048
THIS = "this"
LONGEST_CAPTION = 80
"""Letters of a caption beside others; the whole one is told where the picture stands alone."""

MOST_RECORDS = 6
"""Records of one picture that are told."""

NO_SAMPLE = {"ok": msg("No OK sample yet"), "not_ok": msg("No NOK sample yet")}
OTHER_SAMPLE = {"ok": msg("Other OK sample"), "not_ok": msg("Other NOK sample")}
SAME_SCALE = msg("Same scale for all: compare sizes only when the camera was as far away.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pane:
    """One picture of the page; the pixels come later, through the feed.

    Parameters
    ----------
    name
        ``ok``, ``this`` or ``not_ok``.
    word, mark
        What it is, as a word and as a shape; both empty while one picture is shown alone.
    key, version
        The picture and how it is shown; empty where there is none.
    caption
        What it shows.
    place
        Which of how many samples it is; empty for the picture itself and where there is one.
    """

    name: str = THIS
    word: str = ""
    mark: str = ""
    key: str = ""
    version: str = ""
    caption: str = ""
    place: str = ""

    def wishes(self) -> tuple[Wish, ...]:
        """Give what to ask the feed for: the small one, which is there at once, then the large one."""
        if not self.key:
            return ()
        return Wish(self.key, self.version, SMALL_PX), Wish(self.key, self.version, LARGEST_PX)


@dataclass(frozen=True, slots=True, kw_only=True)
class LookState:
    """Everything the page shows.

    Parameters
    ----------
    title, subtitle
        Which picture of how many, and what it is about.
    problem
        What went wrong; empty when nothing did.
    lines
        What is known of the picture, a line each.
    panes
        The picture alone, or OK, the picture, NOK.
    is_comparing
        Whether it is beside the limit samples.
    buttons
        What can be done, beside zooming.
    """

    title: str = ""
    subtitle: str = ""
    problem: str = ""
    lines: tuple[str, ...] = ()
    panes: tuple[Pane, ...] = ()
    is_comparing: bool = False
    buttons: tuple[BoardButton, ...] = ()


class LookAtPage(Observed[LookState]):
    """Presents one picture of a concern or book, large.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page; ``picture`` names the picture.
    """

    screen = "look_at"
    is_comparing = False

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(LookState(is_comparing=self.is_comparing))
        self.session = session
        self.route = route
        self.feed = PictureFeed(session.picture_worker, self._make, self.fail)
        self._gallery: Gallery | None = None
        self._pictures: dict[str, GalleryPicture] = {}
        self._samples: dict[str, tuple[str, ...]] = {}
        self._sample_at = {"ok": 0, "not_ok": 0}

    def open(self) -> None:
        """Read the records."""

        def run() -> LookState:
            view = view_of(self.session, self.route)
            gallery = read_gallery(self.session, self.route, view)
            self._gallery = gallery
            self._pictures = {one.sha256: one for one in gallery.everything}
            self._samples = {limit: compared_keys(gallery.everything, limit) for limit in LIMIT_MARKS}
            return self._view()

        self.session.run_later(run, self._show, self.fail)

    def press(self, button: str) -> None:
        """Do what a button says."""
        match button:
            case "before":
                self.turn(-1)
            case "next":
                self.turn(1)
            case "compare":
                self.session.go(replace(self.route, screen="compare"))
            case "alone":
                self.session.go(replace(self.route, screen="look_at"))
            case "other-ok" | "other-not_ok":
                self.other_sample(button.removeprefix("other-"))
            case _:
                self.session.go(self.route.down(button))

    def turn(self, by: int) -> None:
        """Show the next picture (1), or the one before (-1); the last one is followed by none."""
        keys = self._keys()
        if self.route.picture not in keys:
            return
        place = keys.index(self.route.picture) + by
        if not 0 <= place < len(keys):
            return
        self.route = replace(self.route, picture=keys[place])
        route = self.route
        self.session.run_later(lambda: self.session.kept.keep_route(route), lambda _: None, self.fail)
        self._show(self._view())

    def other_sample(self, limit: str) -> None:
        """Compare with the next older limit sample of a side; after the oldest comes the newest."""
        if samples := self._samples.get(limit):
            self._sample_at[limit] = (self._sample_at[limit] + 1) % len(samples)
            self._show(self._view())

    def back(self) -> None:
        """Go back to the page that led here."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error)))

    def _keys(self) -> tuple[str, ...]:
        """Give the pictures that are gone through; this one alone when it is none of them."""
        if self._gallery is None:
            return ()
        keys = keys_of(self._gallery.shown)
        if self.route.picture in keys:
            return keys
        return (self.route.picture,) if self.route.picture in self._pictures else ()

    def _view(self) -> LookState:
        assert self._gallery is not None
        one = self._pictures.get(self.route.picture)
        if one is None:
            raise InputError(
                tr("This picture is not recorded here any more; go back and choose another one.")
            )
        keys, stream = self._keys(), self._gallery.facts.stream
        place = keys.index(one.sha256)
        title = (
            tr("Picture {place} of {keys}", place=place + 1, keys=len(keys))
            if len(keys) > 1
            else tr("Picture")
        )
        panes = tuple(self._panes(one)) if self.is_comparing else (_pane(one),)
        return LookState(
            title=title,
            subtitle=self._gallery.facts.what,
            lines=(tr(SAME_SCALE),) if self.is_comparing else tuple(_lines(one, stream)),
            panes=panes,
            is_comparing=self.is_comparing,
            buttons=tuple(self._buttons(panes, place, len(keys))),
        )

    def _panes(self, one: GalleryPicture) -> Iterator[Pane]:
        yield self._sample_pane("ok")
        yield replace(_pane(one), word=tr("This picture"), mark="here")
        yield self._sample_pane("not_ok")

    def _sample_pane(self, limit: str) -> Pane:
        samples = self._samples.get(limit, ())
        pane = Pane(name=limit, word=tr(SAMPLE_WORDS[limit]), mark=LIMIT_MARKS[limit])
        if not samples:
            return replace(pane, caption=tr(NO_SAMPLE[limit]))
        at = self._sample_at[limit] % len(samples)
        shown = _pane(self._pictures[samples[at]])
        place = tr("{at} of {samples}", at=at + 1, samples=len(samples)) if len(samples) > 1 else ""
        return replace(pane, key=shown.key, version=shown.version, caption=shown.caption, place=place)

    def _buttons(self, panes: tuple[Pane, ...], place: int, many: int) -> Iterator[BoardButton]:
        if self.is_comparing:
            yield BoardButton(name="alone", text=tr("This alone"))
            for pane in panes:
                if pane.place:
                    name = f"other-{pane.name}"
                    yield BoardButton(
                        name=name,
                        text=tr(OTHER_SAMPLE[pane.name]),
                    )
            return
        yield BoardButton(name="before", text=tr("Before"), is_off=place == 0)
        yield BoardButton(name="next", text=tr("Next"), is_off=place == many - 1)
        if any(self._samples.values()):
            yield BoardButton(name="compare", text=tr("Beside OK and NOK"), tone="strong")
        yield BoardButton(name="cover_picture", text=tr("Cover people"))
        yield BoardButton(name="mark", text=tr("Mark up"))

    def _make(self, wish: Wish) -> Picture:
        return wished_picture(self.session, self._pictures.get(wish.key), wish)


class ComparePage(LookAtPage):
    """Presents the same picture beside the limit samples OK and NOK."""

    is_comparing = True


def _pane(one: GalleryPicture) -> Pane:
    caption = in_one_line(one.photos[0].caption)
    if len(caption) > LONGEST_CAPTION:
        caption = f"{caption[: LONGEST_CAPTION - 4]} ..."
    return Pane(key=one.sha256, version=one.version, caption=caption)


def _lines(one: GalleryPicture, stream: Stream | None) -> Iterator[str]:
    _, words = state_words(one)
    yield from filter(None, (in_one_line(one.photos[0].caption), capital(", ".join(words))))
    for recorded in one.photos[:MOST_RECORDS]:
        yield record_words(recorded, stream)
    if (more := len(one.photos) - MOST_RECORDS) > 0:
        yield trn("Recorded {count} more time.", "Recorded {count} more times.", more)
