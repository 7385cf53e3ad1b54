"""What every page of a walk has around it: title, stream strip, guide line, undo."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, Protocol, TypeVar

from walkapp.actions.reading import WalkFacts, walk_facts
from walkapp.actions.reasons import UNCOVERED, UNDO
from walkapp.actions.walking import SeenPart, Walking
from walkapp.analysis.results import OriginAnswer
from walkapp.errors import InputError, WalkappError
from walkapp.language import day_said, decimal_text, msg, tr
from walkapp.model.checklist import Check, Station
from walkapp.model.records import (
    Answer,
    ChangePoint,
    Count,
    DatedCount,
    Measurement,
    Note,
    Photo,
    PhotoCopy,
    Record,
    Sample,
    Setting,
)
from walkapp.presenters.held import ScanKeys, held_words, let_go, scan_keys, seen_of, take_up_again
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.strip import StripTile
from walkapp.presenters.wording import ANSWER_WORDS, VERDICT_MARKS, counts_text, parts_in_words


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameState:
    """What surrounds a page of a walk.

    Parameters
    ----------
    title, subtitle
        Where the walker is.
    tiles
        The stream strip.
    guide
        What the tool thinks and where to go next, in one or two sentences.
    undo
        What "undo" would take back, in words; empty when there is nothing.
    saved
        What was last put on disk, in words; empty before the first entry.
    problem
        What went wrong, in one sentence; empty when nothing did.
    scan
        The keys for scanning, and the part that is held.
    """

    title: str = ""
    subtitle: str = ""
    tiles: tuple[StripTile, ...] = ()
    guide: str = ""
    undo: str = ""
    saved: str = ""
    problem: str = ""
    scan: ScanKeys = ScanKeys()


@dataclass(frozen=True, slots=True)
class Sight:
    """A walk as it stands, with the answer over all walks of its concern."""

    walk: WalkFacts
    answer: OriginAnswer


class _WithFrame(Protocol):
    @property
    def frame(self) -> FrameState: ...


S = TypeVar("S", bound=_WithFrame)


class WalkPage(Observed[S]):
    """A presenter of one page of a walk.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page.
    blank
        State to show until the records are read.
    """

    def __init__(self, session: Session, route: Route, blank: S) -> None:
        super().__init__(blank)
        self.session = session
        self.route = route
        self._walking = Walking(session.place, route.concern, route.walk)
        self._sight: Sight | None = None

    def open(self) -> None:
        """Read the records and show the page."""
        self._later(lambda _: None)

    def undo(self) -> None:
        """Take back the newest entry of this tablet in this walk."""

        def take_back(sight: Sight | None) -> Record:
            walk = _needed(sight).walk
            made = self._walking.undo(walk)
            take_up_again(self.session, self.route, walk, walk.undoable)
            return made

        self._later(take_back)

    def scan(self) -> None:
        """Open the page that reads codes; it leads back here."""
        self.session.go(self._here().down("scan"))

    def let_go(self) -> None:
        """Let go of the part that is held."""
        self.session.run_later(
            lambda: let_go(self.session), lambda _: self._show_held(self.route), self.fail
        )

    def take_text(self, text: str) -> None:
        """Take what a hand scanner sent: a station's label, the part that is looked at next, or its lot."""
        # Late: most pages are never scanned on.
        from walkapp.presenters.taking import take_text

        here = self._here()
        self.session.run_later(
            lambda: take_text(self.session, here, text), lambda route: self._taken(here, route), self.fail
        )

    def _taken(self, here: Route, route: Route) -> None:
        if replace(route, unit=here.unit) == here:
            self._show_held(route)
        else:
            self.session.go(route)

    def _here(self) -> Route:
        """Give the place with what was chosen on it."""
        return self.route

    def _show_held(self, _route: Route) -> None:
        """Show what is held now, and leave everything else as it is."""
        if self._sight is not None:
            keys = scan_keys(self.session, self.route, self._sight.walk)
            frame = replace(self.state.frame, scan=keys, problem="", saved="" if keys.mind else keys.words)
            self._show(with_frame(self.state, frame))

    def to_station(self, station: str) -> None:
        """Go to another station."""
        self.session.go(replace(self.route, screen="station", station=station, check=""))

    def to_answer(self) -> None:
        """Go to the first-bad-station view."""
        self.session.go(replace(self.route, screen="answer", check=""))

    def back(self) -> None:
        """Go one level up."""
        self.session.go(self.route.up())

    def station(self) -> Station:
        """Give the station of this page.

        Raises
        ------
        InputError
            If the checklist has no such station.
        """
        found = _needed(self._sight).walk.stream.station(self.route.station)
        if found is None:
            raise InputError(
                tr(
                    "The checklist has no station {station}; choose one in the strip.",
                    station=repr(self.route.station),
                )
            )
        return found

    def check(self) -> Check:
        """Give the check of this page.

        Raises
        ------
        InputError
            If the station has no such check.
        """
        found = self.station().check(self.route.check)
        if found is None:
            raise InputError(
                tr(
                    "The station has no check {check}; go back and choose one.",
                    check=repr(self.route.check),
                )
            )
        return found

    def _view(self, sight: Sight, frame: FrameState) -> S:
        """Build the state from what is on disk; each page has its own."""
        raise NotImplementedError

    def _with_typed(self, state: S) -> S:
        """Add to what was read from disk what was typed meanwhile, on pages where something is typed."""
        return state

    def _record(self, entry: Callable[[WalkFacts], Any], then: Callable[[], None] | None = None) -> None:
        """Put an entry on disk, read the walk again, and only then show it."""
        self._later(lambda sight: entry(_needed(sight).walk), then)

    def _later(self, work: Callable[[Sight | None], Any], then: Callable[[], None] | None = None) -> None:
        def run() -> S:
            made = work(self._sight)
            self._sight = self._look()
            state = self._compose(self._sight)
            held = state.frame.scan
            saved = saved_text(made, self._sight.walk) or ("" if held.mind else held.words)
            return with_frame(state, replace(state.frame, saved=saved))

        def done(state: S) -> None:
            self._show(self._with_typed(state))
            if then is not None:
                then()

        self.session.run_later(run, done, self.fail)

    def _look(self) -> Sight:
        walk = walk_facts(self.session.place, self.route.concern, self.route.walk)
        here = walk.stream.station(self.route.station)
        order = here.order if here else None
        return Sight(walk, walk.facts.locate(here=order, thorough=False))

    def _compose(self, sight: Sight) -> S:
        keys = scan_keys(self.session, self.route, sight.walk)
        return self._view(sight, replace(frame_of(sight, self.route.station), scan=keys))

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(with_frame(self.state, replace(self.state.frame, problem=str(error))))


def with_frame(state: S, frame: FrameState) -> S:
    """Give the same state in another frame."""
    changed: Any = state
    return replace(changed, frame=frame)  # type: ignore[no-any-return]


def _needed(sight: Sight | None) -> Sight:
    if sight is None:
        raise InputError(tr("The walk is still being read; try again in a moment."))
    return sight


def frame_of(sight: Sight, station_id: str) -> FrameState:
    """Build the frame of a page at a station."""
    stream, answer = sight.walk.stream, sight.answer
    here = stream.station(station_id)
    named = tr("first bad") if answer.is_sure else tr("likely first")
    tiles = tuple(
        StripTile(
            station=station.id,
            number=str(station.order),
            short=station.short,
            mark=VERDICT_MARKS[verdict.verdict],
            word=tr(verdict.verdict),
            counts=counts_text(verdict.nok, verdict.checked),
            is_here=station.id == station_id,
            is_next=answer.next is not None and answer.next.order == station.order,
            flag=named if answer.first_bad_station == station.name else "",
        )
        for station, verdict in zip(stream.stations, answer.stations, strict=True)
    )
    return FrameState(
        title=f"{here.order}  {here.name}" if here else stream.name,
        subtitle=sight.walk.facts.concern.what,
        tiles=tiles,
        guide=" ".join(filter(None, (after_fix_text(sight.walk), guide_text(answer)))),
        undo=entry_text(sight.walk.undoable, sight.walk),
    )


def after_fix_text(walk: WalkFacts) -> str:
    """Say, on a walk after a fix, why the strip does not move; nothing on any other."""
    day = walk.facts.fix_days.worked
    if not day or walk.start.at[:10] <= day:
        return ""
    return tr("Parts from after the fix of {day}, which worked, do not count here.", day=day_said(day))


def guide_text(answer: OriginAnswer) -> str:
    """Say what the tool thinks, then where to go next and why."""
    if answer.next is None:
        return answer.sentence
    advice = answer.next
    return tr(
        "{sentence} Next: {station}, {parts}. {why}",
        sentence=answer.sentence,
        station=advice.station,
        parts=parts_in_words(advice.parts),
        why=advice.why,
    )


def entry_text(record: Record | None, walk: WalkFacts) -> str:
    """Say in a few words what an entry was."""
    if record is None:
        return ""
    what = _what_text(record)
    station = walk.stream.station(getattr(record, "station", ""))
    return tr("{what} at {short}", what=what, short=station.short) if station else what


def _what_text(record: Record) -> str:
    match record:
        case Answer():
            return tr(ANSWER_WORDS[record.answer])
        case Count():
            return counts_text(record.nok, record.checked) or tr("none checked")
        case DatedCount():
            return lot_text(record)
        case Measurement():
            return f"{decimal_text(record.value)} {record.unit_of_measure}"
        case Setting():
            return f"{decimal_text(record.actual)} {record.unit_of_measure}"
        case Note():
            return tr("note")
        case ChangePoint():
            return tr("change point")
        case Photo():
            return tr("photo")
        case PhotoCopy():
            return tr("covered place")
        case Sample():
            return tr("lot")
        case _:
            return tr("entry")


def lot_text(record: DatedCount) -> str:
    """Say in a few words what a count of an older lot was."""
    lot = (
        tr("lot {lot}", lot=record.lot)
        if record.lot
        else tr("of {made_on}", made_on=day_said(record.made_on))
    )
    return f"{counts_text(record.nok, record.checked)}, {lot}"


def saved_text(made: object, walk: WalkFacts) -> str:
    """Say what was just put on disk; empty when nothing was."""
    if not isinstance(made, Record):
        return ""
    if made.why in (UNDO, UNCOVERED):
        return tr("Taken back")
    seen = seen_of(walk, made)
    part = f", {held_words(SeenPart(part=seen.part, lot=seen.lot))}" if seen else ""
    return tr("On disk: {entry}{part}", entry=entry_text(made, walk), part=part)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitChoice:
    """The parallel units of a station, to say which one made the part.

    Parameters
    ----------
    question
        What is asked: "Which cavity?"; empty when the station has none.
    names
        Their names.
    chosen
        The one that the next entries belong to; empty when not said.
    """

    question: str = ""
    names: tuple[str, ...] = field(default=())
    chosen: str = ""


WHICH_UNIT = {
    "cavity": msg("Which cavity?"),
    "fixture": msg("Which fixture?"),
    "machine": msg("Which machine?"),
    "rack": msg("Which rack?"),
    "line": msg("Which line?"),
}
"""What is asked for a parallel unit, by kind of ``UNIT_KINDS``."""


def units_of(station: Station, chosen: str) -> UnitChoice:
    """Offer the parallel units of a station."""
    if station.units is None:
        return UnitChoice()
    question = tr(WHICH_UNIT[station.units.kind])
    return UnitChoice(question=question, names=station.units.names, chosen=chosen)
