"""Home: the list of concerns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from walkapp.actions.days import today
from walkapp.actions.keys import own_key, own_key_text
from walkapp.actions.workplace import Workplace
from walkapp.errors import ChecklistError, WalkappError
from walkapp.language import msg, tr, trn
from walkapp.model.records import Action
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.wording import percent, short_names

if TYPE_CHECKING:
    from walkapp.actions.summaries import Summary
    from walkapp.analysis.results import OriginAnswer


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeState:
    """Everything the home page shows.

    Parameters
    ----------
    rows
        The concerns, newest first.
    overdue
        The row that leads to what is overdue, over all concerns; none when nothing is.
    key
        The digits of this tablet's key, to be compared where its bundles are merged; empty without one.
    notices
        What the store has to say, for example that a line is damaged; long names are shortened, and
        of very many only the first are here.
    is_empty
        Whether there is no concern yet.
    practice
        The row that leads to practice, while there is no concern; none otherwise.
    problem
        What went wrong; empty when nothing did.
    """

    rows: tuple[ListRow, ...] = ()
    overdue: tuple[ListRow, ...] = ()
    key: str = ""
    notices: tuple[str, ...] = ()
    is_empty: bool = False
    practice: tuple[ListRow, ...] = ()
    problem: str = ""


class HomePage(Observed[HomeState]):
    """Presents the list of concerns."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(HomeState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Read the concerns, and say what is wrong with the checklists, if anything is."""
        place = self.session.place

        def run() -> HomeState:
            summaries = _summaries(place)
            rows = tuple(concern_row(summary) for summary in summaries)
            own, damaged = own_key(place.store)
            state = HomeState(
                rows=rows,
                overdue=_overdue(place, summaries),
                key=own_key_text(own),
                notices=told_notices(tuple(filter(None, (*place.store.notices, damaged)))),
                is_empty=not rows,
                practice=() if rows or self.session.practise is None else (practice_row(),),
            )
            try:
                place.streams()
            except ChecklistError as error:
                return replace(state, problem=mistakes_text(error))
            return state

        self.session.run_later(run, self._show, self.fail)

    def look_again(self) -> None:
        """Read everything anew."""
        self.open()

    def choose(self, concern: str) -> None:
        """Open a concern."""
        self.session.go(Route(screen="concern", concern=concern))

    def to_overdue(self, concern: str) -> None:
        """Open the actions of the concern whose action is overdue longest."""
        self.session.go(Route(screen="actions", concern=concern))

    def new_concern(self) -> None:
        """Open the page for a new concern."""
        self.session.go(Route(screen="new_concern"))

    def practise(self) -> None:
        """Open practice."""
        if self.session.practise is not None:
            preparing = replace(practice_row(), id="", subtitle=tr(PREPARING))
            self._show(replace(self.state, practice=(preparing,), problem=""))
            self.session.practise()

    def search(self) -> None:
        """Open the page that searches all concerns."""
        self.session.go(Route(screen="search"))

    def to_tablet(self) -> None:
        """Open what this tablet is and what is set on it."""
        self.session.go(Route(screen="tablet"))

    def to_desk(self) -> None:
        """Open the desk."""
        self.session.go(Route(screen="desk"))

    def to_audits(self) -> None:
        """Open today's audits."""
        self.session.go(Route(screen="audits"))

    def scan(self) -> None:
        """Open the page that reads codes: the label of a station leads to what is open there."""
        self.session.go(Route().down("scan"))

    def take_text(self, text: str) -> None:
        """Open what the label of a station stands for, that a hand scanner sent."""
        # Late: a start does not wait for the code that reads labels.
        from walkapp.presenters.taking import take_text

        self.session.run_later(lambda: take_text(self.session, Route(), text), self.session.go, self.fail)

    def back(self) -> None:
        """There is nothing above home; the app decides what to do."""

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        practice = (practice_row(),) if self.state.practice else ()
        self._show(replace(self.state, practice=practice, problem=str(error)))


PREPARING = msg("Practice is being prepared; that takes some seconds.")


def practice_row() -> ListRow:
    """Offer practice."""
    return ListRow(
        id="practise",
        title=tr("Practise first, on an invented walk"),
        subtitle=tr("It says step by step what to tap. Nothing of it comes among the real records."),
    )


def _summaries(place: Workplace) -> Sequence[Summary]:
    if not place.store.concerns():
        return ()
    # Late: the page is shown, still blank, before the worker loads what the answers are worked out with.
    from walkapp.actions.summaries import summarise

    return summarise(place, thorough=False)


def _overdue(place: Workplace, summaries: Sequence[Summary]) -> tuple[ListRow, ...]:
    if not any(isinstance(r, Action) for one in summaries for r in one.facts.standing.current):
        return ()
    # Late: a start without actions does not wait for their code.
    from walkapp.actions.acting import overdue_among
    from walkapp.presenters.actions import overdue_rows

    return overdue_rows(overdue_among((one.facts for one in summaries), today(place)))


MOST_NOTICES = 20


def told_notices(notices: Sequence[str]) -> tuple[str, ...]:
    """Give what the home page says of the store."""
    told = [short_names(notice) for notice in notices[:MOST_NOTICES]]
    if len(notices) > MOST_NOTICES:
        more = len(notices) - MOST_NOTICES
        told.append(
            trn(
                "There is {count} more: 'walkapp check' lists them all.",
                "There are {count} more: 'walkapp check' lists them all.",
                more,
            )
        )
    return tuple(told)


def mistakes_text(error: ChecklistError) -> str:
    """Say what is wrong with the checklists: the first mistake, and how many there are."""
    return trn(
        "The checklists have {count} mistake, so that no concern can be opened and no walk begun; "
        "walks that were begun before go on. It is in {mistake} The command 'walkapp validate' lists "
        "every mistake.",
        "The checklists have {count} mistakes, so that no concern can be opened and no walk begun; "
        "walks that were begun before go on. The first is in {mistake} The command 'walkapp validate' "
        "lists every mistake.",
        len(error.mistakes),
        mistake=error.mistakes[0],
    )


def concern_row(summary: Summary) -> ListRow:
    """Put a concern into two lines."""
    concern = summary.facts.concern
    part = " ".join(filter(None, (concern.part_name, concern.part_number)))
    return ListRow(
        id=concern.concern,
        title=concern.what,
        subtitle=", ".join(filter(None, (part, finding_text(summary.answer)))),
        mark=finding_mark(summary.answer),
    )


def finding_text(answer: OriginAnswer | None) -> str:
    """Say in a few words where the defect starts."""
    if answer is None:
        return tr("checklist not here")
    if answer.first_bad_station is None or answer.probability is None:
        return tr("first bad station not known")
    values = {"station": answer.first_bad_station, "probability": percent(answer.probability)}
    if answer.is_sure:
        return tr("starts at {station} ({probability})", **values)
    return tr("most likely starts at {station} ({probability})", **values)


def finding_mark(answer: OriginAnswer | None) -> str:
    """Give the shape for it: found, undecided, or nothing known."""
    if answer is None or answer.first_bad_station is None:
        return "not_visited"
    return "bad" if answer.is_sure else "undecided"
