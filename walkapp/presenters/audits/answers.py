"""All questions of one audit with their answers: what is still missing, and how it stands once signed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta

from walkapp.actions.audits.doing import newest_of, undo_newest
from walkapp.actions.audits.page import PAPERS_WORD, typed_in_text
from walkapp.actions.audits.reading import AuditFacts
from walkapp.actions.audits.states import BEGUN, OVER
from walkapp.analysis.wording import capital
from walkapp.errors import InputError
from walkapp.language import tr, trn
from walkapp.model.records import AuditStart
from walkapp.presenters.audits.sight import AuditSight, audit_here, place_in_plan, question_place
from walkapp.presenters.audits.words import (
    ANSWER_MARKS,
    STATE_MARKS,
    answer_words,
    counts_words,
    entry_in_short,
    span_words,
)
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.wording import moment_text

MOST_QUESTIONS = 120
"""Questions that are shown; a bundle may bring an audit with more than anybody could answer."""

MOST_OTHERS = 10
"""Other audits of the same place of the plan that are shown."""

OTHERS = "others"
"""Name of their section; no station is called so, since the sections of stations begin with a number."""


class AuditListPage(BoardPage):
    """Presents one audit with all its questions."""

    def undo(self) -> None:
        """Take back the newest entry of this tablet in this audit, a signature too."""

        def run() -> BoardState | Route:
            facts = self._read().facts
            is_last = isinstance(newest_of(self.session.place, facts), AuditStart)
            undo_newest(self.session.place, facts)
            return Route(screen="audits") if is_last else replace(self._look(), saved=tr("Taken back"))

        def done(made: BoardState | Route) -> None:
            if isinstance(made, Route):
                self.session.go(made)
            else:
                self._show(made)

        self.session.run_later(run, done, self.fail)

    def row(self, section: str, row: str) -> None:
        """Show a question, or another audit of the same place of the plan."""
        if section == OTHERS:
            self.session.go(Route(screen="audit_list", concern=self.route.concern, entry=row))
            return
        self._lead(lambda audit: question_place(self.route, audit, row))

    def press(self, button: str) -> None:
        """Go on, say what was done about the first NOK, sign, or say why it was not finished."""
        match button:
            case "audit_sign":
                self.session.go(self.route.down(button))
            case "audit_missed" | "audit_begin":
                self._lead(lambda audit: self._to_plan(audit, button))
            case "reaction":
                self._lead(self._to_reaction)
            case _:
                self._lead(self._to_next)

    def _lead(self, way: Callable[[AuditSight], Route]) -> None:
        self.session.run_later(lambda: way(self._read()), self.session.go, self.fail)

    def _read(self) -> AuditSight:
        return audit_here(self.session.place, self.route)

    def _to_next(self, audit: AuditSight) -> Route:
        found = audit.after("")
        return question_place(self.route, audit, found.ref if found else "")

    def _to_reaction(self, audit: AuditSight) -> Route:
        if not audit.facts.without_reaction:
            raise InputError(tr("Something was said about every NOK already."))
        station, _, check = audit.facts.without_reaction[0].answer.ref.partition("/")
        return self.route.down("reaction", station=station, check=check)

    def _to_plan(self, audit: AuditSight, screen: str) -> Route:
        if audit.planned is None:
            raise InputError(
                tr("The plan of this audit is not here, so that nothing can be kept beside it.")
            )
        return self.route.down(screen, **place_in_plan(audit.planned))

    def _view(self) -> BoardState:
        place, audit = self.session.place, self._read()
        facts = audit.facts
        newest = newest_of(place, facts)
        mark, sentence = _standing(audit)
        return BoardState(
            title=audit.title,
            subtitle=". ".join(
                filter(
                    None,
                    (
                        facts.stream.name if facts.stream else facts.start.stream,
                        typed_in_text(facts.start),
                    ),
                )
            ),
            mark=mark,
            sentence=sentence,
            lines=tuple(_lines(audit)),
            sections=(*_questions(facts), *self._others(facts)),
            buttons=_buttons(audit),
            can_undo=audit.is_own or newest is not None,
            undo=entry_in_short(newest, facts),
        )

    def _others(self, facts: AuditFacts) -> Iterator[Section]:
        """Other audits of the same place of the plan, by this tablet or another."""
        start = facts.start
        starts = self.session.place.audit_book(facts.book).starts
        same = sorted(
            other.id
            for other in starts
            if other.id != start.id
            and (other.stream, other.layer, other.day, other.shift)
            == (start.stream, start.layer, start.day, start.shift)
        )
        by_id = {other.id: other for other in starts}
        rows = tuple(
            ListRow(
                id=one,
                title=tr("Begun {at} by {by}", at=moment_text(by_id[one].at), by=by_id[one].by),
                subtitle=tr("The same audit of the plan, done twice; both stay on record."),
            )
            for one in same[:MOST_OTHERS]
        )
        if rows:
            yield Section(name=OTHERS, title=tr("Also begun"), rows=rows)


def _standing(audit: AuditSight) -> tuple[str, str]:
    """Give the shape and the sentence of how an audit stands."""
    facts, planned = audit.facts, audit.planned
    if facts.signed is not None:
        return (STATE_MARKS[planned.state], capital(tr(planned.state))) if planned else ("", tr("Signed"))
    if not audit.can_answer:
        mark = STATE_MARKS[planned.state] if planned is not None else ""
        return mark, audit.why_closed
    if missing := ", ".join(_missing(facts)):
        return "undecided", tr("Still missing: {missing}.", missing=missing)
    return "undecided", tr("All is answered; it is still to be signed.")


def _missing(facts: AuditFacts) -> Iterator[str]:
    if count := len(facts.unanswered):
        yield trn(
            "{missing} of {count} answer", "{missing} of {count} answers", len(facts.asked), missing=count
        )
    if count := len(facts.without_reaction):
        yield tr("what was done about {count} NOK", count=count)


def _lines(audit: AuditSight) -> Iterator[str]:
    facts, planned = audit.facts, audit.planned
    yield f"{counts_words(facts)}."
    if facts.signed is not None:
        took = (facts.signed_at or facts.begun_at) - facts.begun_at
        at = moment_text((facts.signed_at or facts.begun_at).isoformat())
        by = facts.by if facts.start.is_paper else facts.signed.by
        yield (
            tr("Signed {at} by {by}, {span} after it was begun.", at=at, by=by, span=span_words(took))
            if took >= timedelta(0)
            else tr("Signed {at} by {by}.", at=at, by=by)
        )
        if facts.start.is_paper:
            yield tr(PAPERS_WORD)
        if facts.signed.note:
            yield tr("Also seen: {note}", note=facts.signed.note)
        if facts.changed_after_signing:
            yield tr("The answers are no longer what was signed.")
    elif not audit.is_own:
        yield tr("Begun {at} by {by}.", at=moment_text(facts.start.at), by=facts.by)
        if _can_begin_anew(audit):
            yield tr("Should that tablet be broken or gone, begin it anew here; both stay on record.")
    if not facts.is_whole:
        yield tr("Only what was answered is shown: the checklist that it was begun with is not here.")
    if planned is not None and planned.state in OVER and audit.is_own and facts.signed is None:
        yield tr("What was answered stays on record.")


def _can_begin_anew(audit: AuditSight) -> bool:
    return not audit.is_own and audit.planned is not None and audit.planned.state == BEGUN


def _questions(facts: AuditFacts) -> Iterator[Section]:
    shown = facts.asked[:MOST_QUESTIONS]
    left_out = len(facts.asked) - len(shown)
    stations = dict.fromkeys((one.station, one.station_name) for one in shown)
    for number, (station, name) in enumerate(stations, start=1):
        rows = tuple(
            ListRow(
                id=one.ref,
                title=one.ask,
                subtitle=capital(answer_words(facts, one.ref)),
                mark=ANSWER_MARKS[given.answer if (given := facts.answers.get(one.ref)) else ""],
            )
            for one in shown
            if one.station == station
        )
        is_last = number == len(stations) and left_out
        words = (
            trn("{count} more question is not shown.", "{count} more questions are not shown.", left_out)
            if is_last
            else ""
        )
        yield Section(name=f"{number} {station}", title=f"{number}. {name}", words=words, rows=rows)


def _buttons(audit: AuditSight) -> tuple[BoardButton, ...]:
    facts = audit.facts
    if not audit.can_answer:
        if _can_begin_anew(audit):
            return (BoardButton(name="audit_begin", text=tr("Begin it here")),)
        is_over = audit.planned is not None and audit.planned.state in OVER
        return (BoardButton(name="audit_missed", text=tr("Say why")),) if is_over else ()
    if facts.unanswered:
        return (BoardButton(name="go_on", text=tr("Go on"), tone="strong"),)
    if facts.without_reaction:
        return (BoardButton(name="reaction", text=tr("Say what was done"), tone="strong"),)
    return (BoardButton(name="audit_sign", text=tr("Sign"), tone="strong"),)
