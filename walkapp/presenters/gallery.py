"""All pictures of a concern or of a book: which are shown, in which order, and where the page was."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from walkapp.actions.books import BookFacts, Facts, facts_of
from walkapp.actions.gallery import (
    ALL,
    AT_STATION,
    EVIDENCE,
    MOST_LISTED,
    OF_ENTRY,
    OF_WALK,
    GalleryPicture,
    by_station,
    gallery_of,
    narrowed_gallery,
    stations_of,
)
from walkapp.actions.pictures import NOT_HERE, SMALL_PX, Picture, no_picture
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.wording import capital, in_one_line
from walkapp.errors import WalkappError
from walkapp.language import msg, tr, trn, whole_text
from walkapp.model.checklist import Stream
from walkapp.model.records import LIMITS, Photo
from walkapp.presenters.intake import entry_ids
from walkapp.presenters.judging import BOTH_SIDES, LIMIT_MARKS
from walkapp.presenters.observe import Observed
from walkapp.presenters.picture_feed import PictureFeed, Wish
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.wording import SAMPLE_WORDS, moment_text, short_id

DRAFT = "gallery"
NEWEST, BY_STATION = "newest", "station"
ORDER_WORDS = {NEWEST: msg("Newest first"), BY_STATION: msg("By station")}
MOST_STATIONS = 60
"""Stations that are offered; a stream has a few dozen at most, records from elsewhere may name any."""

BEING_READ = msg("Being read")
"""What stands in place of a picture that is on its way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GalleryTile:
    """One picture of the page; the pixels come later, through the feed.

    Parameters
    ----------
    key, version
        What it is known by, and how it is shown.
    caption
        What it shows, or its size.
    station
        Where it was taken, or what it belongs to.
    made
        When and by whom.
    marks
        Shapes of its state.
    state
        The same in words; empty for none.
    """

    key: str = ""
    version: str = ""
    caption: str = ""
    station: str = ""
    made: str = ""
    marks: tuple[str, ...] = ()
    state: str = ""

    @property
    def wish(self) -> Wish:
        """What to ask the feed for."""
        return Wish(self.key, self.version, SMALL_PX)


@dataclass(frozen=True, slots=True, kw_only=True)
class GalleryFilter:
    """One word of the filter.

    Parameters
    ----------
    word
        What a tap on it is told with.
    text
        What it says, with the number of pictures.
    is_off
        Whether there is nothing to show.
    """

    word: str
    text: str
    is_off: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GalleryState:
    """Everything the page shows.

    Parameters
    ----------
    title, subtitle
        What the page is about.
    problem
        What went wrong; empty when nothing did.
    words
        How many pictures are shown, and in which order.
    filters, chosen
        What may be shown, and the word that is.
    order
        The order that a tap on its button goes to.
    tiles
        The pictures, in their order.
    top, top_px
        The tile that stood at the upper edge when the page was left, and how far above it, in pixels.
    last
        The tile that was looked at last; empty for none.
    is_read
        Whether the records have been read.
    """

    title: str = ""
    subtitle: str = ""
    problem: str = ""
    words: str = ""
    filters: tuple[GalleryFilter, ...] = ()
    chosen: str = ALL
    order: str = BY_STATION
    tiles: tuple[GalleryTile, ...] = ()
    top: str = ""
    top_px: float = 0.0
    last: str = ""
    is_read: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GalleryView:
    """What of the pictures is looked at; kept through a look at one of them, and a restart.

    Parameters
    ----------
    chosen
        Word of the filter; empty for the one that the page begins with.
    order
        ``newest`` or ``station``.
    top, top_px
        Where the page is scrolled to.
    """

    chosen: str = ""
    order: str = NEWEST
    top: str = ""
    top_px: float = 0.0


def view_of(session: Session, route: Route) -> GalleryView:
    """Give the view that was kept of the pictures of a place; that to begin with when it is of another."""
    kept = session.kept.draft(DRAFT)
    if kept.get("of") != _whose(route):
        return GalleryView()
    try:
        top_px = min(max(float(kept.get("top_px", "0")), 0.0), 1e6)
    except ValueError:
        top_px = 0.0
    order = kept.get("order", NEWEST)
    return GalleryView(
        chosen=kept.get("chosen", ""),
        order=order if order in ORDER_WORDS else NEWEST,
        top=kept.get("top", ""),
        top_px=top_px if top_px == top_px else 0.0,
    )


def keep_view(session: Session, route: Route, view: GalleryView) -> None:
    """Keep what is looked at; call on the worker."""
    values = {"chosen": view.chosen, "order": view.order, "top": view.top, "top_px": f"{view.top_px:.0f}"}
    session.kept.keep_draft(DRAFT, {"of": _whose(route), **values})


def _whose(route: Route) -> str:
    """Name the pictures that a place, or one below it, is about."""
    through = f"{route.through} {route.screen}".split()
    until = through.index("gallery") if "gallery" in through else len(through)
    return " ".join((route.concern, route.walk, route.station, route.entry, *through[:until]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Gallery:
    """The pictures of a place as they are looked at.

    Parameters
    ----------
    facts
        The concern, or the book.
    everything
        All its pictures.
    shown
        Those that are looked at, in their order; at most ``MOST_LISTED``.
    found
        How many are wanted, shown or not.
    chosen, order
        The filter and the order.
    entries
        Ids of the entry whose evidence may be looked at.
    """

    facts: Facts
    everything: tuple[GalleryPicture, ...]
    shown: tuple[GalleryPicture, ...]
    found: int
    chosen: str
    order: str
    entries: tuple[str, ...]


def read_gallery(session: Session, route: Route, view: GalleryView) -> Gallery:
    """Read the pictures of a place; call on the worker.

    Raises
    ------
    InputError
        If the store has no such concern or book.
    """
    facts = facts_of(session.place, route.concern)
    everything = gallery_of(facts)
    entries = entry_ids(session.place, route.concern, route.entry) if route.entry else ()
    found: tuple[GalleryPicture, ...] = ()
    chosen = ALL
    for wanted in (view.chosen, *_first_choice(route), ALL):
        chosen = wanted
        found = narrowed_gallery(everything, wanted, walk=route.walk, entries=entries) if wanted else ()
        if found:
            break
    if view.order == BY_STATION:
        found = by_station(found, facts.stream)
    return Gallery(
        facts=facts,
        everything=everything,
        shown=found[:MOST_LISTED],
        found=len(found),
        chosen=chosen,
        order=view.order,
        entries=entries,
    )


def _first_choice(route: Route) -> tuple[str, ...]:
    """Say what the page begins with, by the page that led here."""
    before = route.through.split()
    until = before.index("gallery") if "gallery" in before else len(before)
    if "evidence" in before[max(until - 1, 0) : until]:
        return (OF_ENTRY,)
    return (f"{AT_STATION}{route.station}",) if route.station else ()


class GalleryPage(Observed[GalleryState]):
    """Presents all pictures of a concern or book, small.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page; ``picture`` is the one that was looked at last.
    """

    screen = "gallery"

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(GalleryState(title=tr("Pictures")))
        self.session = session
        self.route = route
        self.feed = PictureFeed(session.picture_worker, self._make, self.fail)
        self._pictures: dict[str, GalleryPicture] = {}
        self._view = GalleryView()

    def open(self) -> None:
        """Read the records."""

        def run() -> GalleryState:
            self._view = view_of(self.session, self.route)
            return replace(self._look(), top=self._view.top, top_px=self._view.top_px)

        self.session.run_later(run, self._show, self.fail)

    def choose_filter(self, word: str) -> None:
        """Show what a word of the filter says, from the beginning; the chosen one again shows all."""
        self._change(chosen=ALL if word == self.state.chosen else word)

    def change_order(self) -> None:
        """Go to the other order."""
        self._change(order=self.state.order)

    def look_at(self, key: str, top: str, top_px: float) -> None:
        """Show a picture large; `top` and `top_px` are where the page is scrolled to."""
        view = replace(self._view, top=top, top_px=top_px)
        self.session.run_later(lambda: keep_view(self.session, self.route, view), lambda _: None, self.fail)
        self.session.go(self.route.down("look_at", picture=key))

    def back(self) -> None:
        """Go back to the page that led here; what was looked at is forgotten."""
        self.session.run_later(lambda: self.session.kept.drop_draft(DRAFT), lambda _: None, self.fail)
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error), is_read=True))

    def _change(self, **values: str) -> None:
        def run() -> GalleryState:
            self._view = GalleryView(
                chosen=values.get("chosen", self._view.chosen), order=values.get("order", self._view.order)
            )
            keep_view(self.session, self.route, self._view)
            return replace(self._look(), last="")

        self.session.run_later(run, self._show, self.fail)

    def _look(self) -> GalleryState:
        gallery = read_gallery(self.session, self.route, self._view)
        self._pictures = {one.sha256: one for one in gallery.everything}
        stream = gallery.facts.stream
        return GalleryState(
            title=tr("Pictures"),
            subtitle=gallery.facts.what,
            words=_words(gallery),
            filters=tuple(_filters(gallery, self.route)),
            chosen=gallery.chosen,
            order=BY_STATION if gallery.order == NEWEST else NEWEST,
            tiles=tuple(tile_of_gallery(one, stream) for one in gallery.shown),
            last=self.route.picture,
            is_read=True,
        )

    def _make(self, wish: Wish) -> Picture:
        return wished_picture(self.session, self._pictures.get(wish.key), wish)


def wished_picture(session: Session, one: GalleryPicture | None, wish: Wish) -> Picture:
    """Make the picture that is wished for; a word where its record was taken back meanwhile."""
    if one is None:
        return no_picture(wish.key, tr(NOT_HERE))
    return session.thumbnails.give(one.photos[0], one.copies, wish.longest_px)


def _words(gallery: Gallery) -> str:
    if not gallery.everything:
        return tr("No picture is recorded yet.")
    if gallery.found > len(gallery.shown):
        shown, found = whole_text(len(gallery.shown)), whole_text(gallery.found)
        return tr(
            "The first {shown} of {found} pictures are listed; choose a station to see others.",
            shown=shown,
            found=found,
        )
    order = tr("newest first") if gallery.order == NEWEST else tr("by station")
    return tr(
        "{pictures}, {order}. Tap one to see it large.",
        pictures=trn("{count} picture", "{count} pictures", gallery.found),
        order=order,
    )


def _filters(gallery: Gallery, route: Route) -> list[GalleryFilter]:
    everything, stream = gallery.everything, gallery.facts.stream

    def offer(word: str, name: str, *, always: bool = False) -> list[GalleryFilter]:
        count = len(narrowed_gallery(everything, word, walk=route.walk, entries=gallery.entries))
        if not count and not always:
            return []
        return [GalleryFilter(word=word, text=f"{name}: {whole_text(count)}", is_off=not count)]

    at = stations_of(everything)
    known = [station.id for station in stream.stations if station.id in at] if stream else []
    strange = sorted(station for station in at if station not in known)
    offered = [*known, *strange][:MOST_STATIONS]
    if gallery.chosen.startswith(AT_STATION):
        offered = list(dict.fromkeys((*offered, gallery.chosen.removeprefix(AT_STATION))))
    is_book = isinstance(gallery.facts, BookFacts)
    return [
        *offer(ALL, tr("All")),
        *(offer(OF_ENTRY, tr("This entry")) if gallery.entries else ()),
        *(offer(OF_WALK, tr("This walk")) if route.walk else ()),
        *(one for limit in LIMITS for one in offer(limit, tr(SAMPLE_WORDS[limit]), always=not is_book)),
        *offer(EVIDENCE, tr("Evidence")),
        *(
            GalleryFilter(
                word=f"{AT_STATION}{station}",
                text=f"{station_words(stream, station)}: {whole_text(at[station])}",
            )
            for station in offered
        ),
    ]


def station_words(stream: Stream | None, station: str) -> str:
    """Name a station short, with its number; as it was recorded when the checklist does not know it."""
    found = stream.station(station) if stream else None
    return f"{found.order}  {found.short}" if found else station


def tile_of_gallery(one: GalleryPicture, stream: Stream | None) -> GalleryTile:
    """Put a picture into a few words, without its pixels."""
    photo = one.photos[0]
    marks, state = state_words(one)
    return GalleryTile(
        key=one.sha256,
        version=one.version,
        caption=in_one_line(photo.caption) or f"{photo.width_px} x {photo.height_px}",
        station=where_words(photo, stream),
        made=in_one_line(f"{moment_text(photo.at)}, {photo.by}"),
        marks=marks,
        state=capital(", ".join(state)),
    )


def where_words(photo: Photo, stream: Stream | None) -> str:
    """Say where a picture was taken, or what it belongs to."""
    if photo.station:
        return station_words(stream, photo.station)
    return tr("Limit sample of the concern") if photo.limit else tr("Evidence of an entry")


def state_words(one: GalleryPicture) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Give the shapes and words of what a picture is, beside what it shows."""
    marks, words = [LIMIT_MARKS[limit] for limit in one.limits], []
    if len(one.limits) > 1:
        words.append(tr(BOTH_SIDES))
    elif one.limits:
        words.append(tr(SAMPLE_WORDS[one.limits[0]]))
    if one.is_evidence:
        marks.append("evidence")
        words.append(tr("evidence"))
    if one.covered:
        marks.append("covered")
        words.append(tr("covered"))
    if one.marks:
        words.append(tr("marked"))
    if any(photo.invented for photo in one.photos):
        words.append(tr("invented"))
    return tuple(marks), tuple(words)


def record_words(photo: Photo, stream: Stream | None) -> str:
    """Say in one line where, when, by whom and on which tablet a picture was recorded."""
    where = where_words(photo, stream)
    return tr(
        "{where}: {at}, {by}, tablet {device}",
        where=where,
        at=moment_text(photo.at),
        by=photo.by,
        device=short_id(photo.device),
    )


def gallery_row(_place: Workplace, facts: ConcernFacts) -> ListRow:
    """Give the row that leads from a concern's page to all its pictures."""
    pictures = gallery_of(facts)
    said = (
        trn("{count} picture, small and large", "{count} pictures, small and large", len(pictures))
        if pictures
        else tr("No picture yet")
    )
    return ListRow(id="gallery", title=tr("Pictures"), subtitle=said)


def compared_keys(pictures: Sequence[GalleryPicture], limit: str) -> tuple[str, ...]:
    """Give the SHA-256 of the limit samples of one side, the newest first."""
    return tuple(one.sha256 for one in narrowed_gallery(pictures, limit))


def keys_of(pictures: Collection[GalleryPicture]) -> tuple[str, ...]:
    """Give the SHA-256 of pictures, in their order."""
    return tuple(one.sha256 for one in pictures)
