"""Search over all concerns, audits, findings and lessons, as it is typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from walkapp.actions.audits.findings import belongs_to
from walkapp.actions.books import desk_standing, stream_of_desk
from walkapp.actions.searching import Result, SearchAnswer, SearchUpdate, told_count
from walkapp.errors import WalkappError
from walkapp.language import day_said, msg, tr
from walkapp.model.ids import is_book, is_desk_book
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session

PAGE_OF_KIND: Mapping[str, str] = {
    "action": "actions",
    "action_done": "actions",
    "change_point": "onset",
    "clean_point": "containment",
    "confirmation": "confirmations",
    "confirmation_turn": "confirmations",
    "dated_count": "onset",
    "effect_check": "actions",
    "escalation": "told",
    "escape": "containment",
    "lesson": "lessons",
    "part_seen": "followed",
    "read_across": "read_across",
    "sorting": "containment",
    "study": "studies",
    "study_part": "studies",
    "study_reading": "studies",
    "suspect_range": "containment",
    "suspect_stock": "containment",
    "trial": "trials",
    "trial_factor": "trials",
    "trial_run": "trials",
    "watch_question": "actions",
}
"""The page on which records of a kind are listed, where a concern has one; else its own page is opened."""

PAGE_OF_DESK: Mapping[str, str] = {"deliveries": "ppm", "success_factor": "indicators"}
"""The page on which records of a kind of a desk book are shown."""

LOST_PARENT = msg("the concern itself is not here yet")
READING = msg("Still reading the records: there may be more than is found now.")
_DRAFT = "search"


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchState:
    """Everything the search page shows.

    Parameters
    ----------
    words
        What is looked for, as it was typed.
    rows
        The results, newest first.
    told
        How many there are, and what has to be minded.
    reading
        That records are still being read; empty when all were.
    problem
        What went wrong; empty when nothing did.
    """

    words: str = ""
    rows: tuple[ListRow, ...] = ()
    told: str = ""
    reading: str = ""
    problem: str = ""


class SearchPage(Observed[SearchState]):
    """Presents the search; what was typed stays until something else is typed."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(SearchState())
        self.session = session
        self.route = route
        self._wanted = ""
        self._found: dict[str, Result] = {}
        self._read_for: str | None = None

    def open(self) -> None:
        """Show what was looked for before, and look through what has changed since."""

        def done(words: str) -> None:
            if not self._wanted:
                self._wanted = words
                self._show(replace(self.state, words=words))
                self._ask()

        self.session.run_later(lambda: self.session.kept.draft(_DRAFT).get("words", ""), done, self.fail)

    def type(self, words: str) -> None:
        """Look for what is typed; only the newest is looked for when several wait."""
        if words == self._wanted:
            return
        self._wanted = words
        self._show(replace(self.state, words=words))
        self._ask()

    def choose(self, row: str) -> None:
        """Go to where a result is shown."""
        found = self._found.get(row)
        if found is None:
            return
        if is_desk_book(found.concern):
            # Of which stream the book is has to be read.
            self.session.run_later(lambda: self._at_desk(found), self.session.go, self.fail)
        elif is_book(found.concern):
            # To which finding or audit a record belongs has to be read.
            self.session.run_later(lambda: self._in_audits(found), self.session.go, self.fail)
        else:
            self.session.go(_route(found))

    def _in_audits(self, found: Result) -> Route:
        to = belongs_to(self.session.place, found.concern, found.record)
        if to.finding:
            return self.route.down("finding", concern=found.concern, entry=to.finding)
        if to.missed is not None:
            missed = {name: getattr(to.missed, name) for name in ("stream", "layer", "day", "shift")}
            return self.route.down("audit_missed", **missed)
        if to.audit:
            return self.route.down("audit_list", concern=found.concern, entry=to.audit)
        return self.route.down("findings")

    def _at_desk(self, found: Result) -> Route:
        standing = desk_standing(self.session.place, found.concern)
        stream = stream_of_desk(found.concern, standing.current)
        return Route(screen=PAGE_OF_DESK.get(found.kind, "desk"), concern=found.concern, stream=stream)

    def back(self) -> None:
        """Go home."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error), reading=""))

    def _ask(self) -> None:
        words = self._wanted

        def run() -> SearchAnswer | None:
            if words != self._wanted:
                return None  # More was typed meanwhile.
            return self.session.finder.find(words)

        def keep() -> None:
            if words == self._wanted and self.session.kept.draft(_DRAFT).get("words", "") != words:
                self.session.kept.keep_draft(_DRAFT, {"words": words})

        self.session.run_later(run, self._show_answer, self.fail)
        # After the results: nobody waits for the disk to see them.
        self.session.run_later(keep, lambda _: None, self.fail)

    def _show_answer(self, answer: SearchAnswer | None) -> None:
        if answer is None:
            return
        self._found = {_key(place): one for place, one in enumerate(answer.results) if one.what}
        self._show(
            replace(
                self.state,
                rows=tuple(_row(place, one) for place, one in enumerate(answer.results)),
                told=" ".join(filter(None, (told_count(answer), *answer.notes))),
                problem="",
            )
        )
        # Once for what is typed: an index that cannot be brought up to date must not be tried for ever.
        if not answer.is_current and self._read_for != self._wanted and not self.state.reading:
            self._read_for = self._wanted
            self._update()

    def _update(self) -> None:
        """Look through what has changed, beside all else, and ask once more at the end."""

        def begun(update: SearchUpdate) -> None:
            def go_on(has_more: bool) -> None:
                if has_more:
                    self._show(replace(self.state, reading=_reading(update)))
                    self.session.aside(update.step, go_on, self.fail)
                else:
                    self._show(replace(self.state, reading=""))
                    self._ask()

            self.session.aside(update.step, go_on, self.fail)

        self._show(replace(self.state, reading=tr(READING)))
        self.session.aside(self.session.finder.begin_update, begun, self.fail)


def _reading(update: SearchUpdate) -> str:
    return tr(
        "{reading} {done} of {total} concerns and audit books that changed are read.",
        reading=tr(READING),
        done=update.done,
        total=update.total,
    )


def _key(place: int) -> str:
    return f"result-{place}"


def _row(place: int, one: Result) -> ListRow:
    where = ", ".join(filter(None, (one.kind_words, one.station, day_said(one.at[:10]))))
    return ListRow(
        id=_key(place) if one.what else "",
        title=one.text or one.kind_words,
        subtitle=f"{where}\n{one.what or tr(LOST_PARENT)}",
    )


def _route(one: Result) -> Route:
    return Route(screen=PAGE_OF_KIND.get(one.kind, "concern"), concern=one.concern)
