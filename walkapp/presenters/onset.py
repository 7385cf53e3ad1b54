"""When the defect started: dated counts, the first bad lot or day, and what changed before it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from walkapp.actions.onset import (
    AFTER,
    BEFORE,
    FIRST,
    DatedOnset,
    date_onset,
    newest_lot,
    take_back_lot,
    timing_words,
)
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.analysis.onset import OnsetRow
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.suspects import AFTER_ONSET, BEFORE_ONSET, TIME_UNKNOWN, Suspect
from walkapp.analysis.wording import named
from walkapp.errors import WalkappError
from walkapp.presenters.frame import lot_text
from walkapp.presenters.observe import Observed
from walkapp.presenters.session import Route, Session
from walkapp.presenters.walk_forms import CHANGE_WORDS
from walkapp.presenters.wording import percent, share_range

ROW_MARKS = {BEFORE: "clean", FIRST: "bad", AFTER: "bad"}
"""Shape of what is thought of a row; everything else is undecided."""

TIMING_MARKS = {BEFORE_ONSET: "", AFTER_ONSET: "not_visited", TIME_UNKNOWN: "undecided"}
"""Shape of a change that is not known to have been before the onset."""

NO_CHANGES = "No change point is recorded yet. Ask at every station what changed, and when."


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedRow:
    """One lot or production day.

    Parameters
    ----------
    name
        Lot and day.
    counts
        NOK of checked, in words.
    interval
        The exact 95 % interval of the share, in words.
    low, share, high
        The same as numbers from 0 to 1, for drawing.
    probability
        Probability that the defect starts here, in words.
    probability_value
        The same as a number from 0 to 1, for drawing.
    mark, word
        Shape and words of what is said of it.
    is_named
        Whether this is the (most likely) first bad one.
    """

    name: str
    counts: str
    interval: str
    low: float
    share: float
    high: float
    probability: str
    probability_value: float
    mark: str
    word: str
    is_named: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectRow:
    """One recorded change, or "none of them".

    Parameters
    ----------
    rank
        Its place; empty for "none of them".
    what
        What changed.
    place
        Station, kind of change, day, and how that day lies to the onset.
    mark
        Shape for a change that was after the onset or whose time is not known; empty otherwise.
    probability
        Probability that it is the cause, in words.
    probability_value
        The same as a number from 0 to 1, for drawing.
    why
        One sentence.
    """

    rank: str
    what: str
    place: str
    mark: str
    probability: str
    probability_value: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OnsetState:
    """Everything the page shows.

    Parameters
    ----------
    title
        The concern.
    sentence
        When it started, with the interval of days.
    most_suspect
        The change that leads the suspects; empty when none is more probable than "none of them".
    rows
        In the order of production.
    below
        Where the parts of the rows were judged, and the probability that it did not start in them; empty
        when there are none.
    warnings
        What has to be minded.
    suspects
        The recorded changes, the most suspect first; "none of them" is always the last.
    no_changes
        What to do when no change is recorded; empty otherwise.
    assumptions
        What was taken for granted.
    undo
        The count that "undo" would take back, in words; empty when there is none.
    saved
        What was just put on disk.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    sentence: str = ""
    most_suspect: str = ""
    rows: tuple[DatedRow, ...] = ()
    below: str = ""
    warnings: tuple[str, ...] = ()
    suspects: tuple[SuspectRow, ...] = ()
    no_changes: str = ""
    assumptions: str = ""
    undo: str = ""
    saved: str = ""
    problem: str = ""


class OnsetPage(Observed[OnsetState]):
    """Presents when the defect started, and the suspects.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The concern, and the walk and station it was opened from, if any.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(OnsetState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Work it out."""
        self._later(lambda _: "")

    def count_lot(self) -> None:
        """Open the form for a count of an older lot."""
        self.session.go(replace(self.route, screen="dated_count"))

    def undo(self) -> None:
        """Take back this tablet's newest count of an older lot."""

        def take_back(facts: ConcernFacts) -> str:
            take_back_lot(self.session.place, facts)
            return "Taken back"

        self._later(take_back)

    def back(self) -> None:
        """Go back to the first-bad-station view."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error)))

    def _later(self, work: Callable[[ConcernFacts], str]) -> None:
        def run() -> OnsetState:
            saved = work(self._read())
            return replace(onset_state(self._read(), self.session.place.store.device), saved=saved)

        self.session.run_later(run, self._show, self.fail)

    def _read(self) -> ConcernFacts:
        return concern_facts(self.session.place, self.route.concern)


def onset_state(facts: ConcernFacts, device: str) -> OnsetState:
    """Put into words what is known of a concern's onset."""
    found = date_onset(facts)
    newest = newest_lot(facts, device)
    onset = found.onset
    return OnsetState(
        title=facts.concern.what,
        sentence=found.sentence,
        most_suspect=_most_suspect(found),
        rows=tuple(_row(found, place, row) for place, row in enumerate(onset.rows if onset else ())),
        below=_below(found),
        warnings=found.warnings,
        suspects=(*(_suspect(found, suspect) for suspect in found.ranking.suspects), _none_of_them(found)),
        no_changes="" if found.changes else NO_CHANGES,
        assumptions=" ".join(found.assumptions),
        undo=lot_text(newest) if newest else "",
    )


def _row(found: DatedOnset, place: int, row: OnsetRow) -> DatedRow:
    interval = proportion_interval(row.nok, row.checked)
    verdict = found.verdict(place)
    return DatedRow(
        name=row.day if row.label == row.day else f"{row.label}  {row.day}",
        counts=f"{row.nok} of {row.checked}",
        interval=share_range(interval.low, interval.high),
        low=interval.low,
        share=row.nok / row.checked,
        high=interval.high,
        probability=percent(row.probability),
        probability_value=row.probability,
        mark=ROW_MARKS.get(verdict, "undecided"),
        word=found.word(place),
        is_named=verdict == FIRST,
    )


def _suspect(found: DatedOnset, suspect: Suspect) -> SuspectRow:
    point, station = found.changes[suspect.change.id], found.stations[suspect.change.id]
    day = point.changed_on or "day not known"
    return SuspectRow(
        rank=str(suspect.rank),
        what=point.what,
        place=f"{station.name}, {dict(CHANGE_WORDS)[point.change].lower()}, {day}: {timing_words(suspect)}",
        mark=TIMING_MARKS[suspect.timing],
        probability=percent(suspect.probability),
        probability_value=suspect.probability,
        why=suspect.why,
    )


def _most_suspect(found: DatedOnset) -> str:
    ranking = found.ranking
    first = [suspect for suspect in ranking.suspects if suspect.rank == 1]
    if not first or first[0].probability <= ranking.none_probability:
        return ""
    names = named([found.changes[suspect.change.id].what for suspect in first], "or")
    each = " each" if len(first) > 1 else ""
    return f"Most suspect of the recorded changes: {names} ({percent(first[0].probability)}{each})."


def _below(found: DatedOnset) -> str:
    if found.onset is None or found.station is None:
        return ""
    return (
        f"Counted at {found.station.name}. That it did not start in these rows: "
        f"{percent(found.onset.none_probability)}."
    )


def _none_of_them(found: DatedOnset) -> SuspectRow:
    return SuspectRow(
        rank="",
        what="None of the recorded changes",
        place="",
        mark="",
        probability=percent(found.ranking.none_probability),
        probability_value=found.ranking.none_probability,
        why="A cause that nobody recorded, at any station and at any time.",
    )
