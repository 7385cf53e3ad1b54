"""When the defect started: dated counts, the first bad lot or day, and what changed before it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from walkapp.actions.changes import change_points
from walkapp.actions.onset import (
    AFTER,
    BEFORE,
    FIRST,
    DatedOnset,
    date_onset,
    newest_dated,
    take_back_dated,
)
from walkapp.actions.onset_words import reason, timing_words
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.time_line import TimeLine, time_line
from walkapp.actions.workplace import Workplace
from walkapp.analysis.onset import OnsetRow
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.suspects import AFTER_ONSET, BEFORE_ONSET, TIME_UNKNOWN, Suspect
from walkapp.analysis.wording import CHANGE_WORDS, either
from walkapp.errors import WalkappError
from walkapp.language import day_said, msg, tr, trn
from walkapp.model.records import ChangePoint, DatedCount
from walkapp.presenters.frame import lot_text
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.time_axis import MOST_DRAWN
from walkapp.presenters.wording import percent, share_range

ROW_MARKS = {BEFORE: "clean", FIRST: "bad", AFTER: "bad"}
"""Shape of what is thought of a row; everything else is undecided."""

TIMING_MARKS = {BEFORE_ONSET: "", AFTER_ONSET: "not_visited", TIME_UNKNOWN: "undecided"}
"""Shape of a change that is not known to have been before the onset."""

MOST_LISTED = 100
"""Most suspects that the page lists."""

MOST_TIED = 3
"""Most equally suspect changes that the sentence names."""

MOST_UNDATED = 8
"""Most changes of unknown day that are named below the time line; the list has them all."""

NO_CHANGES = msg("No change point is recorded yet. Ask at every station what changed, and when.")


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
    id
        Id of the change; empty for "none of them".
    number
        Its place in the list and its number on the time line; empty for "none of them".
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
        Why it is suspected or not, what it was meant to do, and whether the customer was told.
    """

    id: str
    number: str
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
    time_line
        Counted days, onset and changes, for drawing; none when there is no day.
    line_words
        How the drawing is read.
    undated
        The changes whose day is not known and that are on no line; empty when there are none.
    no_changes
        What to do when no change is recorded; empty otherwise.
    assumptions
        What was taken for granted.
    undo
        The entry that "undo" would take back, in words; empty when there is none.
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
    time_line: TimeLine | None = None
    line_words: str = ""
    undated: str = ""
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

    def record_change(self) -> None:
        """Open the form for a change point that is recorded outside the walk."""
        self.session.go(replace(self.route, screen="new_change"))

    def open_change(self, change: str) -> None:
        """Open the page of a change."""
        self.session.go(replace(self.route, screen="change_point", entry=change))

    def undo(self) -> None:
        """Take back this tablet's newest count of an older lot or change point."""

        def take_back(facts: ConcernFacts) -> str:
            take_back_dated(self.session.place, facts)
            return tr("Taken back")

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


def onset_row(_: Workplace, facts: ConcernFacts) -> ListRow:
    """Make the row of the concern's page that leads here."""
    counts = sum(isinstance(record, DatedCount) for record in facts.standing.current)
    points = len(change_points(facts))
    said = [
        trn("{count} change point", "{count} change points", points),
        trn("{count} count of older lots", "{count} counts of older lots", counts),
    ]
    return ListRow(
        id="onset",
        title=tr("When it started and what changed"),
        subtitle=tr("{said} recorded", said=", ".join(said)),
    )


def onset_state(facts: ConcernFacts, device: str) -> OnsetState:
    """Put into words what is known of a concern's onset."""
    found = date_onset(facts)
    newest = newest_dated(facts, device)
    onset = found.onset
    line = time_line(found)
    return OnsetState(
        title=facts.concern.what,
        sentence=found.sentence,
        most_suspect=_most_suspect(found),
        rows=tuple(_row(found, place, row) for place, row in enumerate(onset.rows if onset else ())),
        below=_below(found),
        warnings=found.warnings,
        suspects=_suspects(found),
        time_line=line if line.days or any(change.day for change in line.changes) else None,
        line_words=_line_words(line),
        undated=_undated(line),
        no_changes="" if found.changes else tr(NO_CHANGES),
        assumptions=" ".join(found.assumptions),
        undo=_in_short(newest) if newest else "",
    )


def _in_short(entry: DatedCount | ChangePoint) -> str:
    return tr("change point") if isinstance(entry, ChangePoint) else lot_text(entry)


def _line_words(line: TimeLine) -> str:
    """Say how the drawing is read; only of what is on it."""
    said = []
    if line.bad_from_day is not None:
        said.append(
            tr(
                "Hatched band: 95 % interval of when it started, after {last_good_day}, at the latest "
                "{bad_from_day}.",
                last_good_day=day_said(line.last_good_day),
                bad_from_day=day_said(line.bad_from_day),
            )
            if line.last_good_day
            else tr(
                "Hatched band: 95 % interval of when it started, at the latest {bad_from_day}; how long "
                "before is open.",
                bad_from_day=day_said(line.bad_from_day),
            )
        )
    if line.first_bad_day is not None:
        said.append(tr("Flag: the most probable first bad day."))
    dated = sum(bool(change.day) for change in line.changes)
    if dated:
        said.append(tr("Numbers: the changes, as in the list below."))
    if dated > MOST_DRAWN:
        said.append(
            trn(
                "{count} change further down the list is not drawn.",
                "{count} changes further down the list are not drawn.",
                dated - MOST_DRAWN,
            )
        )
    return " ".join(said)


def _undated(line: TimeLine) -> str:
    undated = line.undated
    if not undated:
        return ""
    named_ones = [f"{change.number} {change.what}" for change in undated[:MOST_UNDATED]]
    more = len(undated) - len(named_ones)
    if not more:
        return tr("Day not known, so not on the line: {changes}.", changes="; ".join(named_ones))
    return trn(
        "Day not known, so not on the line: {changes}; and {count} more.",
        "Day not known, so not on the line: {changes}; and {count} more.",
        more,
        changes="; ".join(named_ones),
    )


def _row(found: DatedOnset, place: int, row: OnsetRow) -> DatedRow:
    interval = proportion_interval(row.nok, row.checked)
    verdict = found.verdict(place)
    return DatedRow(
        name=day_said(row.day) if row.label == row.day else f"{row.label}  {day_said(row.day)}",
        counts=tr("{nok} of {checked}", nok=row.nok, checked=row.checked),
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


def _suspects(found: DatedOnset) -> tuple[SuspectRow, ...]:
    """List the suspects; a list that no page could hold is cut, and says so."""
    suspects = found.ranking.suspects
    rows = [_suspect(found, suspect, number) for number, suspect in enumerate(suspects[:MOST_LISTED], 1)]
    if left_out := suspects[MOST_LISTED:]:
        chance = sum(suspect.probability for suspect in left_out)
        rows.append(
            _row_of_none(
                trn("{count} more change", "{count} more changes", len(left_out)),
                chance,
                tr("Less suspect than those above; the summary has them all."),
            )
        )
    none = _row_of_none(
        tr("None of the recorded changes"),
        found.ranking.none_probability,
        tr("A cause that nobody recorded, at any station and at any time."),
    )
    return (*rows, none)


def _suspect(found: DatedOnset, suspect: Suspect, number: int) -> SuspectRow:
    point, station = found.changes[suspect.change.id][0], found.stations[suspect.change.id]
    day = day_said(point.changed_on) or tr("day not known")
    return SuspectRow(
        id=point.id,
        number=str(number),
        what=point.what,
        place=f"{station.name}, {tr(CHANGE_WORDS[point.change])}, {day}: {timing_words(suspect)}",
        mark=TIMING_MARKS[suspect.timing],
        probability=percent(suspect.probability),
        probability_value=suspect.probability,
        why=reason(found, suspect),
    )


def _most_suspect(found: DatedOnset) -> str:
    ranking = found.ranking
    first = [suspect for suspect in ranking.suspects if suspect.rank == 1]
    if not first or first[0].probability <= ranking.none_probability:
        return ""
    names = _or_words([found.changes[suspect.change.id][0].what for suspect in first])
    probability = percent(first[0].probability)
    if len(first) > 1:
        return tr(
            "Most suspect of the recorded changes: {names} ({probability} each).",
            names=names,
            probability=probability,
        )
    return tr(
        "Most suspect of the recorded changes: {name} ({probability}).", name=names, probability=probability
    )


def _or_words(names: Sequence[str]) -> str:
    """Name the first few changes that are equally suspect, and count the others."""
    shown = [*names[:MOST_TIED]]
    if more := len(names) - len(shown):
        shown.append(trn("{count} more", "one of {count} more", more))
    return either(shown)


def _below(found: DatedOnset) -> str:
    if found.onset is None or found.station is None:
        return ""
    return tr(
        "Counted at {station}. That it did not start in these rows: {none_probability}.",
        station=found.station.name,
        none_probability=percent(found.onset.none_probability),
    )


def _row_of_none(what: str, probability: float, why: str) -> SuspectRow:
    """Make a row that leads to no change."""
    return SuspectRow(
        id="",
        number="",
        what=what,
        place="",
        mark="",
        probability=percent(probability),
        probability_value=probability,
        why=why,
    )
