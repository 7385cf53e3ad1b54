"""Pages on which pictures outside any walk are taken in: limit samples, and evidence of what was done."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace

from walkapp.actions.audits.findings import find_finding
from walkapp.actions.books import Facts, facts_of
from walkapp.actions.intake import Subject
from walkapp.actions.judging import evidence_of, limit_samples
from walkapp.actions.kind_words import KIND_WORDS, name_of_kind
from walkapp.actions.pictures import kept_pictures
from walkapp.actions.undoing import newest_entry, take_back
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError, RecordError, WalkappError
from walkapp.language import msg, tr
from walkapp.model.ids import is_book
from walkapp.model.records import LIMITS, AuditAnswer, Photo, Record, kind_of
from walkapp.presenters.judging import SAMPLE_TAKEN_AWAY, picture_words, undo_words
from walkapp.presenters.observe import Observed
from walkapp.presenters.picking import Picker, PicksPictures
from walkapp.presenters.picture_choice import PictureChoice
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session


@dataclass(frozen=True, slots=True, kw_only=True)
class IntakeState:
    """Everything such a page shows.

    Parameters
    ----------
    title, subtitle
        What the pictures are for.
    problem
        What went wrong; empty when nothing did.
    saved
        What was last put on disk, in words; empty before that.
    undo
        What "undo" would take back, in words; empty when there is nothing.
    caption_label
        What is asked about the next picture.
    caption
        What was typed so far.
    choice
        Pictures to choose from, and those recorded here.
    """

    title: str = ""
    subtitle: str = ""
    problem: str = ""
    saved: str = ""
    undo: str = ""
    caption_label: str = ""
    caption: str = ""
    choice: PictureChoice = PictureChoice()


class IntakePage(PicksPictures, Observed[IntakeState]):
    """Presents such a page; each page says what its pictures are.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page.
    """

    screen = "intake"
    title = ""

    taken_away = msg("picture taken away")
    caption_label = ""
    heading = ""
    kept_heading = ""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(IntakeState())
        self.session = session
        self.route = route
        self.picker = Picker(
            session,
            self._draft_name,
            self._subject,
            moved=self._refresh,
            kept=self._kept,
            failed=self.fail,
            words=self._words,
        )

    def open(self) -> None:
        """Read the records, and look for pictures and cameras."""

        def run() -> IntakeState:
            self.picker.caption = self.session.kept.draft(self._draft_name).get("caption", "")
            return self._look()

        def opened(state: IntakeState) -> None:
            self._show(state)
            self.picker.open()  # What was just taken goes with the caption that was typed.

        self.session.run_later(run, opened, self.fail)

    def look_again(self) -> None:
        """Read everything anew."""
        self.open()

    def unwatch(self, listener: Callable[[IntakeState], None]) -> None:
        """The page is left."""
        self.picker.leave()
        super().unwatch(listener)

    def fill(self, caption: str) -> None:
        """Say what the next picture shows; kept even if the page is left."""
        if caption == self.picker.caption:
            return
        self.picker.caption = caption
        self._show(replace(self.state, caption=caption))
        self.session.run_later(
            lambda: self.session.kept.keep_draft(self._draft_name, {"caption": caption}),
            lambda _: None,
            self.fail,
        )

    def undo(self) -> None:
        """Take back the newest picture of this page that this tablet took in, and its copy."""
        self._act(
            lambda: take_back(self.session.place, self.route.concern, (Photo,), self._is_own),
            tr("Taken back"),
        )

    def mark(self, key: str) -> None:
        """Open the page of a recorded picture, to mark it or to cover people in it."""
        self.session.go(self.route.down("mark", picture=key))

    def to_gallery(self) -> None:
        """Open the page of all pictures."""
        self.session.go(self.route.down("gallery"))

    def compare(self, key: str) -> None:
        """Hold a recorded picture against the limit samples."""
        self.session.go(self.route.down("compare", picture=key))

    def back(self) -> None:
        """Go back to the page that led here."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong, and show pictures as they stand."""
        choice = self.picker.refreshed(self.state.choice)
        self._show(replace(self.state, problem=self._words(error), saved="", choice=choice))

    def _words(self, error: WalkappError) -> str:
        """Say what went wrong; a record names its own field, the page the one that the person sees."""
        words = str(error)
        if isinstance(error, RecordError):
            return f"{words.replace('caption', f'{tr(self.caption_label)}:', 1)}."
        return words

    @property
    def _draft_name(self) -> str:
        return " ".join((self.route.screen, self.route.concern, self.route.entry))

    def _kept(self, photo: Photo) -> None:
        self._act(self._drop_caption, tr("On disk: {words}", words=picture_words(photo)))

    def _drop_caption(self) -> None:
        """Forget the words that went with a picture, unless others were typed for the next one since."""
        if not self.picker.caption:
            self.session.kept.drop_draft(self._draft_name)

    def _refresh(self) -> None:
        choice = self.picker.refreshed(self.state.choice)
        problem = self.picker.problem or self.state.problem
        self._show(replace(self.state, choice=choice, problem=problem, caption=self.picker.caption))

    def _act(self, work: Callable[[], object], saved: str) -> None:
        def run() -> IntakeState:
            work()
            return replace(self._look(), saved=saved)

        self.session.run_later(run, self._show, self.fail)

    def _look(self) -> IntakeState:
        place = self.session.place
        facts = facts_of(place, self.route.concern)
        recorded = self._recorded(facts)
        entry = newest_entry(place, self.route.concern, (Photo,), self._is_own)
        return IntakeState(
            title=tr(self.title),
            subtitle=self._subtitle(facts),
            problem=self.picker.problem,
            undo=undo_words(entry, tr(self.taken_away)),
            caption_label=tr(self.caption_label),
            caption=self.picker.caption,
            choice=self.picker.choice(
                frozenset(photo.sha256 for photo in self._not_offered(facts)),
                kept_pictures(place, self.session.thumbnails.give, recorded, facts.standing),
                heading=tr(self.heading),
                kept_heading=tr(self.kept_heading),
            ),
        )

    def _subtitle(self, facts: Facts) -> str:
        """Say what the page is about."""
        return facts.what

    def _subject(self) -> Subject:
        """Say what a picture is taken in for."""
        raise NotImplementedError

    def _recorded(self, facts: Facts) -> tuple[Photo, ...]:
        """Give the pictures of this page, the oldest first."""
        raise NotImplementedError

    def _not_offered(self, facts: Facts) -> tuple[Photo, ...]:
        """Give the recorded pictures that are not offered once more."""
        return self._recorded(facts)

    def _is_own(self, record: Record) -> bool:
        """Whether a picture belongs to this page."""
        raise NotImplementedError


class LimitSamplePage(IntakePage):
    """Takes in the limit samples of one side."""

    limit = ""

    taken_away = SAMPLE_TAKEN_AWAY
    caption_label = msg("What to look at")
    kept_heading = msg("Recorded; tap one to mark it or to cover people")

    def _subject(self) -> Subject:
        return Subject(concern=self.route.concern, limit=self.limit)

    def _recorded(self, facts: Facts) -> tuple[Photo, ...]:
        return limit_samples(facts, self.limit)[::-1]

    def _not_offered(self, facts: Facts) -> tuple[Photo, ...]:
        # One picture cannot be both: it has to be taken back on the other side first.
        return tuple(photo for limit in LIMITS for photo in limit_samples(facts, limit))

    def _is_own(self, record: Record) -> bool:
        return isinstance(record, Photo) and record.limit == self.limit


class OkSamplePage(LimitSamplePage):
    """Takes in pictures of parts that are just OK."""

    limit = "ok"
    title = msg("OK: a part that is just good enough")
    heading = msg("Tap a picture to show it as OK")


class NokSamplePage(LimitSamplePage):
    """Takes in pictures of parts that are NOK."""

    limit = "not_ok"
    title = msg("NOK: a part that is not good enough")
    heading = msg("Tap a picture to show it as NOK")


class EvidencePage(IntakePage):
    """Takes in pictures as evidence of an entry, such as an action or a trial."""

    title = msg("Evidence")
    caption_label = msg("What it shows")
    heading = msg("Tap a picture to keep it as evidence")
    kept_heading = msg("Kept as evidence; tap one to mark it or to cover people")

    def _subject(self) -> Subject:
        return Subject(concern=self.route.concern, about=self.route.entry)

    def _subtitle(self, facts: Facts) -> str:
        entry = next((r for r in facts.standing.current if _is_entry(r, self.route.entry)), None)
        if entry is None:
            return facts.what
        if isinstance(entry, AuditAnswer):
            return tr("Finding - {asked}", asked=entry.asked)
        kind = kind_of(entry)
        name = name_of_kind(kind) if kind in KIND_WORDS else ""
        return " - ".join(filter(None, (name, getattr(entry, "what", ""))))

    def _recorded(self, facts: Facts) -> tuple[Photo, ...]:
        return tuple(photo for one in self._ids() for photo in evidence_of(facts, one))

    def _is_own(self, record: Record) -> bool:
        return isinstance(record, Photo) and record.about in self._ids()

    def _ids(self) -> tuple[str, ...]:
        return entry_ids(self.session.place, self.route.concern, self.route.entry)


def entry_ids(place: Workplace, concern: str, entry: str) -> tuple[str, ...]:
    """Give the ids of an entry, the oldest first: a finding may have been said again by an undo."""
    with suppress(InputError):
        if is_book(concern):
            return find_finding(place, concern, entry).ids[::-1]
    return (entry,)


def _is_entry(record: Record, entry: str) -> bool:
    """Whether a record is the entry of that id, as it was said first or as it was corrected."""
    chain = kind_of(record).rpartition("_")[2]
    return bool(entry) and entry in (record.id, getattr(record, chain, ""))
