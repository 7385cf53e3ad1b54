"""The page of one concern."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from walkapp.actions.concerns import facts_in_words
from walkapp.actions.judging import judging_text
from walkapp.actions.reading import ConcernFacts, concern_facts, walk_facts
from walkapp.actions.workplace import Workplace
from walkapp.errors import WalkappError
from walkapp.language import tr, trn
from walkapp.model.records import WalkStart
from walkapp.presenters.bundle_writing import write_concern_bundle
from walkapp.presenters.concern_parts import part_rows
from walkapp.presenters.disputes import dispute_rows
from walkapp.presenters.escalation import escalation_rows, escalation_text
from walkapp.presenters.home import finding_text
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.stages import stages_row
from walkapp.presenters.wording import moment_text, short_id


@dataclass(frozen=True, slots=True, kw_only=True)
class ConcernState:
    """Everything the page of a concern shows.

    Parameters
    ----------
    title
        What is wrong.
    facts
        Part, customer reference, quantity and so on, a line each.
    how
        How to judge it.
    finding
        Where the defect starts, in a few words.
    escalation
        The caution for a safety-class concern, or who was told.
    must_escalate
        Whether nobody was told yet.
    to_escalation
        The row that leads to recording who was told, or to those who were; none when nobody has to be.
    to_correction
        The row that leads to correcting the facts.
    disputes
        The row that leads to entries that disagree; none when none do.
    stages
        The row that says how far it is.
    parts
        The rows that lead to what is done about it, in the order of the work.
    walks
        This tablet's newest walks, newest first; a tap goes on with one.
    other_walks
        All other walks in words, a line each, newest first.
    written
        The bundle that was just written; empty otherwise.
    problem
        What went wrong; empty when nothing did.
    busy
        Whether a bundle is being written.
    """

    title: str = ""
    facts: tuple[str, ...] = ()
    how: str = ""
    finding: str = ""
    escalation: str = ""
    must_escalate: bool = False
    to_escalation: tuple[ListRow, ...] = ()
    to_correction: tuple[ListRow, ...] = ()
    disputes: tuple[ListRow, ...] = ()
    stages: tuple[ListRow, ...] = ()
    parts: tuple[ListRow, ...] = ()
    walks: tuple[ListRow, ...] = ()
    other_walks: tuple[str, ...] = ()
    written: str = ""
    problem: str = ""
    busy: bool = False


MOST_OWN, MOST_OTHERS = 3, 12
"""More of this tablet's walks are told in words; of those told in words no more than the newest."""


class ConcernPage(Observed[ConcernState]):
    """Presents one concern and its walks."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(ConcernState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Read the concern."""

        def run() -> ConcernState:
            return concern_state(self.session.place, concern_facts(self.session.place, self.route.concern))

        self.session.run_later(run, self._show, self.fail)

    def start_walk(self) -> None:
        """Open the page that begins a walk."""
        self.session.go(replace(self.route, screen="start_walk"))

    def continue_walk(self, walk: str) -> None:
        """Go on with a walk: where its last entry was made, or where it begins."""

        def run() -> Route:
            now = walk_facts(self.session.place, self.route.concern, walk)
            return replace(self.route, screen="station", walk=walk, station=now.resume_station)

        self.session.run_later(run, self.session.go, self.fail)

    def to_answer(self) -> None:
        """Go to the first-bad-station view."""
        self.session.go(replace(self.route, screen="answer"))

    def to_studies(self) -> None:
        """Go to the inspection studies of this concern."""
        self.session.go(replace(self.route, screen="studies"))

    def to_part(self, screen: str) -> None:
        """Go to one part of what is done about the concern."""
        self.session.go(replace(self.route, screen=screen))

    def to_disputes(self) -> None:
        """Go to the entries that disagree."""
        self.session.go(replace(self.route, screen="disputes"))

    def write_bundle(self) -> None:
        """Write the bundle of this concern."""
        self._show(replace(self.state, busy=True, problem="", written=""))

        def done(words: str) -> None:
            self._show(replace(self.state, busy=False, written=words))

        self.session.run_later(
            lambda: write_concern_bundle(self.session, self.route.concern), done, self.fail
        )

    def take_text(self, text: str) -> None:
        """Open what a hand scanner sent: a station's label, or a part that was followed."""
        # Late: few open this page with a scanner in hand.
        from walkapp.presenters.taking import take_text

        here = replace(self.route, walk="")
        self.session.run_later(lambda: take_text(self.session, here, text), self.session.go, self.fail)

    def back(self) -> None:
        """Go home."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, busy=False, problem=str(error)))


def concern_state(place: Workplace, facts: ConcernFacts) -> ConcernState:
    """Put a concern into words."""
    concern, device = facts.concern, place.store.device
    newest = facts.walks[::-1]
    own = [walk for walk in newest if walk.device == device]
    entries = Counter(record.walk for record in facts.standing.current)
    return ConcernState(
        title=concern.what,
        facts=facts_in_words(facts),
        how=judging_text(facts),
        finding=finding_text(facts.quick_answer),
        escalation=escalation_text(facts),
        must_escalate=facts.needs_escalation,
        to_escalation=escalation_rows(facts),
        to_correction=(_correction_row(),),
        disputes=dispute_rows(facts),
        stages=(stages_row(place, facts),),
        parts=part_rows(place, facts),
        walks=tuple(walk_row(walk, entries[walk.id]) for walk in own[:MOST_OWN]),
        other_walks=_walk_lines([walk for walk in newest if walk not in own[:MOST_OWN]], entries),
    )


def _correction_row() -> ListRow:
    return ListRow(
        id="correct_concern",
        title=tr("Correct these facts"),
        subtitle=tr("Quantity, days, lots, class and so on; what was said before is kept."),
    )


def walk_row(walk: WalkStart, records: int) -> ListRow:
    """Put a walk of this tablet into two lines."""
    return ListRow(
        id=walk.id,
        title=tr("Walk of {at} by {by}", at=moment_text(walk.at), by=walk.by),
        subtitle=tr("this tablet, {entries}", entries=_entries_text(records)),
    )


def _walk_lines(walks: Sequence[WalkStart], entries: Mapping[str, int]) -> tuple[str, ...]:
    """Put walks that are not gone on with here into a line each; of very many only the newest."""
    lines = [
        tr(
            "Walk of {at} by {by}, tablet {device}, {entries}",
            at=moment_text(walk.at),
            by=walk.by,
            device=short_id(walk.device),
            entries=_entries_text(entries[walk.id]),
        )
        for walk in walks[:MOST_OTHERS]
    ]
    if more := len(walks) - len(lines):
        lines.append(trn("and {count} more walk", "and {count} more walks", more))
    return tuple(lines)


def _entries_text(records: int) -> str:
    """Count the entries of a walk, without the record that began it."""
    entries = records - 1
    return trn("{count} entry", "{count} entries", entries)
