"""How to judge a part: the words of the concern, and its limit samples OK and NOK side by side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from walkapp.actions.copies import copies_by_photo
from walkapp.actions.judging import drop_sample, judging_text, limit_samples, on_both_sides
from walkapp.actions.pictures import LARGE_PX
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.thumbnails import Thumbnails
from walkapp.actions.undoing import newest_entry, take_back
from walkapp.errors import InputError, WalkappError
from walkapp.language import msg, tr, tr_each
from walkapp.model.records import LIMITS, Photo, Record
from walkapp.presenters.form import FormField, FormPage, as_options
from walkapp.presenters.observe import Observed
from walkapp.presenters.picture_choice import PictureTile
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.wording import ANSWER_WORDS, SAMPLE_WORDS

MOST_SHOWN = 6
SAMPLE_PX = 640
PAIR_PX = 320
MOST_TRIED = 2
"""A newest sample that is not here gives way to the one before it; more are not read beside a check."""
BOTH_SIDES = msg("Shown as OK and as NOK")
LIMIT_MARKS = {"ok": "clean", "not_ok": "bad"}


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitPair:
    """The newest limit samples, small, beside the answers of a check.

    Parameters
    ----------
    is_offered
        Whether the check judges parts for the defect of the concern; nothing is shown otherwise.
    ok, not_ok
        The newest picture of each side, or none.
    """

    is_offered: bool = False
    ok: PictureTile | None = None
    not_ok: PictureTile | None = None

    @property
    def has_pictures(self) -> bool:
        """Whether there is anything to see."""
        return self.ok is not None or self.not_ok is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitSide:
    """The limit samples of one side.

    Parameters
    ----------
    limit
        ``ok`` or ``not_ok``.
    word, mark
        The same as a word and as a shape.
    words
        How many there are, when that is not what is seen.
    pictures
        The newest ones.
    """

    limit: str = ""
    word: str = ""
    mark: str = ""
    words: str = ""
    pictures: tuple[PictureTile, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgingState:
    """Everything the page shows.

    Parameters
    ----------
    title, subtitle
        What the page is about.
    problem
        What went wrong; empty when nothing did.
    saved
        What was last put on disk, in words; empty before that.
    undo
        What "undo" would take back, in words; empty when there is nothing.
    how
        How a part is judged, in words.
    sides
        OK, then NOK.
    large
        The picture that is shown large; none while both sides are shown.
    large_side
        The side that it belongs to, without pictures.
    newest
        SHA-256 of the newest picture that was taken at this station in this walk; empty for none.
    """

    title: str = ""
    subtitle: str = ""
    problem: str = ""
    saved: str = ""
    undo: str = ""
    how: str = ""
    sides: tuple[LimitSide, ...] = ()
    large: PictureTile | None = None
    large_side: LimitSide | None = None
    newest: str = ""


class JudgingPage(Observed[JudgingState]):
    """Presents how a part is judged OK or NOK.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page; within a walk it keeps station and check to come back to.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(JudgingState(title=tr("How to judge")))
        self.session = session
        self.route = route
        self._large_id = ""

    def open(self) -> None:
        """Read the concern and its limit samples."""
        self.session.run_later(self._look, self._show, self.fail)

    def add(self, limit: str) -> None:
        """Open the page that takes in a limit sample: ``ok`` or ``not_ok``."""
        self.session.go(self.route.down(f"limit_{limit}"))

    def enlarge(self, limit: str, key: str) -> None:
        """Show one picture of a side large."""

        def run() -> JudgingState:
            facts = concern_facts(self.session.place, self.route.concern)
            photo = next((p for p in limit_samples(facts, limit) if p.sha256 == key), None)
            if photo is None:
                raise InputError(tr("This picture is no longer a limit sample; choose another one."))
            self._large_id = photo.id
            large = _tile(self.session.thumbnails, facts, photo, LARGE_PX)
            return replace(self.state, large=large, large_side=_side(photo.limit), problem="", saved="")

        self.session.run_later(run, self._show, self.fail)

    def shrink(self) -> None:
        """Show both sides again."""
        self._show(replace(self.state, large=None, large_side=None))

    def mark(self) -> None:
        """Open the page on which marks are drawn over the picture that is shown large."""
        if self.state.large is not None:
            self.session.go(self.route.down("mark", picture=self.state.large.key))

    def cover(self) -> None:
        """Open the page that covers people in the picture that is shown large."""
        if self.state.large is not None:
            self.session.go(self.route.down("cover_sample", picture=self.state.large.key))

    def compare(self) -> None:
        """Hold the picture that was taken here last against the limit samples."""
        if self.state.newest:
            self.session.go(self.route.down("compare", picture=self.state.newest))

    def drop(self) -> None:
        """Open the page on which the picture that is shown large stops being a sample."""
        if self.state.large is not None:
            self.session.go(self.route.down("drop_sample", entry=self._large_id))

    def undo(self) -> None:
        """Take back the newest limit sample that this tablet took in, and its copy."""

        def run() -> JudgingState:
            take_back(self.session.place, self.route.concern, (Photo,), _is_sample)
            return replace(self._look(), saved=tr("Taken back"))

        self.session.run_later(run, self._show, self.fail)

    def back(self) -> None:
        """Close the large picture; without one go back to the page that led here."""
        if self.state.large is not None:
            self.shrink()
        else:
            self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error), saved=""))

    def _look(self) -> JudgingState:
        facts = concern_facts(self.session.place, self.route.concern)
        entry = newest_entry(self.session.place, self.route.concern, (Photo,), _is_sample)
        return JudgingState(
            title=tr("How to judge"),
            subtitle=facts.concern.what,
            undo=undo_words(entry, tr(SAMPLE_TAKEN_AWAY)),
            how=judging_text(facts) or tr("Nobody has written yet how a part is judged."),
            sides=tuple(self._filled_side(facts, limit) for limit in LIMITS),
            newest=newest_taken(facts, self.route.walk, self.route.station),
        )

    def _filled_side(self, facts: ConcernFacts, limit: str) -> LimitSide:
        samples = limit_samples(facts, limit)
        shown = samples[:MOST_SHOWN]
        words = tr("No limit sample yet") if not samples else ""
        if len(samples) > len(shown):
            words = tr("The newest {shown} of {samples}", shown=len(shown), samples=len(samples))
        tiles = (_tile(self.session.thumbnails, facts, photo, SAMPLE_PX) for photo in shown)
        return replace(_side(limit), words=words, pictures=tuple(tiles))


DROP_REASONS = (
    msg("wrong side"),
    msg("a better picture is there"),
    msg("the limit was agreed anew"),
    msg("it shows another defect"),
)


class DropSampleForm(FormPage):
    """Says that a picture is no limit sample any more, and why."""

    title = msg("No longer a limit sample")
    do = msg("Record: no longer a sample")
    is_in_walk = False

    def _cautions(self) -> tuple[str, ...]:
        return (
            tr("Whoever judges by this picture has to be told; your site says who may change a limit."),
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="common",
                label=tr("Why"),
                form="choice",
                options=as_options(tr_each(DROP_REASONS)),
            ),
            FormField(
                name="why", label=tr("Or in your own words"), is_required=not self._values.get("common")
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts = concern_facts(self.session.place, self.route.concern)
        drop_sample(self.session.place, facts, self.route.entry, values["why"] or values["common"])
        return self.route.up()


def newest_taken(facts: ConcernFacts, walk: str, station: str) -> str:
    """Give the SHA-256 of the newest picture by id of a walk at a station; empty for none or no walk."""
    taken = (r for r in facts.standing.current if isinstance(r, Photo) and walk and r.walk == walk)
    return max(((r.id, r.sha256) for r in taken if r.station == station), default=("", ""))[1]


def picture_words(photo: Photo) -> str:
    """Say in a few words what a picture is of a concern: a limit sample or evidence."""
    return tr(SAMPLE_WORDS[photo.limit]) if photo.limit else tr("picture")


SAMPLE_TAKEN_AWAY = msg("sample taken away")


def undo_words(entry: Record | None, taken_away: str) -> str:
    """Say in a few words what "undo" would take back; empty for nothing.

    Parameters
    ----------
    entry
        The newest entry of the page.
    taken_away
        What is said where it is no picture: that one was taken away.
    """
    if isinstance(entry, Photo):
        return picture_words(entry)
    return taken_away if entry is not None else ""


def limit_pair(thumbnails: Thumbnails, facts: ConcernFacts) -> LimitPair:
    """Give the newest limit sample of each side that can be shown.

    Parameters
    ----------
    thumbnails
        Makes the pictures.
    facts
        The concern.
    """
    copies, both = copies_by_photo(facts.standing), on_both_sides(facts)

    def newest(limit: str) -> PictureTile | None:
        pictures = [
            thumbnails.give(photo, copies.get(photo.sha256), PAIR_PX)
            for photo in limit_samples(facts, limit)[:MOST_TRIED]
        ]
        shown = next((p for p in pictures if not p.trouble), pictures[0] if pictures else None)
        if shown is None:
            return None
        caption = tr(BOTH_SIDES) if shown.key in both else shown.trouble
        return PictureTile(key=shown.key, caption=caption, size=shown.size, pixels=shown.pixels)

    ok, not_ok = map(newest, LIMITS)
    return LimitPair(is_offered=True, ok=ok, not_ok=not_ok)


def _tile(thumbnails: Thumbnails, facts: ConcernFacts, photo: Photo, longest_px: int) -> PictureTile:
    picture = thumbnails.give(photo, copies_by_photo(facts.standing).get(photo.sha256), longest_px)
    both = tr(BOTH_SIDES) if photo.sha256 in on_both_sides(facts) else ""
    caption = ": ".join(filter(None, (both, picture.trouble, picture.caption)))
    return PictureTile(key=picture.key, caption=caption, size=picture.size, pixels=picture.pixels)


def _side(limit: str) -> LimitSide:
    return LimitSide(limit=limit, word=tr(ANSWER_WORDS[limit]), mark=LIMIT_MARKS[limit])


def _is_sample(record: Record) -> bool:
    return isinstance(record, Photo) and bool(record.limit)
