"""One question of an audit: the cautions of its station first, then OK, NOK or N/A with one tap."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from walkapp.actions.audits.doing import answer_question, newest_of, undo_newest
from walkapp.analysis.wording import capital
from walkapp.errors import InputError, WalkappError
from walkapp.language import msg, tr
from walkapp.model.records import AuditAnswer, AuditReaction, AuditStart, Photo, Record
from walkapp.presenters.audits.sight import AuditSight, audit_here, question_place, ref_here
from walkapp.presenters.audits.words import NOT_SAID, entry_in_short, finding_of, reaction_words
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session

SPECIAL = msg("Special characteristic")


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditState:
    """Everything the page of a question shows.

    Parameters
    ----------
    title, subtitle
        The station, and which audit.
    ref
        What is asked, as :attr:`AuditAnswer.ref` has it; another one is another question.
    progress
        Which question it is of how many, and how many are answered.
    cautions
        Cautions of the station, to confirm before its questions are shown; empty once they were.
    ask, how
        The question, and how it is judged.
    why
        Why it is asked beyond the plan; empty for a question of the plan.
    special
        That it is about a special characteristic; empty otherwise.
    given
        The answer on disk: ``ok``, ``not_ok``, ``not_applicable``, or empty.
    told
        Why it does not apply, or what was done about a NOK.
    missing
        What is still to be said about a NOK; empty when nothing is.
    closed
        Why nothing can be answered; empty when it can.
    can_answer
        Whether it can be answered now.
    can_react
        Whether the page leads to what was done about a NOK.
    has_previous, has_next
        Whether there are questions before and behind this one.
    undo, saved, problem
        What "undo" would take back, what was just put on disk, what went wrong.
    """

    title: str = ""
    subtitle: str = ""
    ref: str = ""
    progress: str = ""
    cautions: tuple[str, ...] = ()
    ask: str = ""
    how: str = ""
    why: str = ""
    special: str = ""
    given: str = ""
    told: str = ""
    missing: str = ""
    closed: str = ""
    can_answer: bool = False
    can_react: bool = False
    has_previous: bool = False
    has_next: bool = False
    undo: str = ""
    saved: str = ""
    problem: str = ""


class AuditPage(Observed[AuditState]):
    """Presents an audit question by question.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The audit; with a question that one, else the first that is not answered.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(AuditState(title=tr("Audit")))
        self.session = session
        self.route = route
        self._audit: AuditSight | None = None
        self._ref = ""
        self._is_busy = False

    def open(self) -> None:
        """Read the audit; one of which all is answered opens its list."""

        def work() -> str | Route:
            audit = audit_here(self.session.place, self.route)
            self._ref = ref_here(self.session.place, self.route)
            if not self._ref and audit.facts.asked:
                found = audit.after("") if audit.can_answer else audit.facts.asked[0]
                self._ref = found.ref if found else ""
            return "" if self._ref else question_place(self.route, audit, "")

        self._later(work)

    def confirm_cautions(self) -> None:
        """Say that the cautions of this station were read; its questions are shown then."""
        if self._audit is not None:
            self.session.cautions_read = _opened(self._audit, self._ref)
            self._move(self._audit, self._ref)

    def answer(self, word: str) -> None:
        """Record an answer and show the next question; NOK asks what was done, N/A why.

        While one is put on disk, no other counts: it was meant for the question that is still seen.
        """
        state, audit, ref = self.state, self._audit, self._ref
        if audit is None or self._is_busy or state.cautions or not state.can_answer:
            return
        if word == "not_applicable":
            self.session.go(question_place(self.route, audit, ref).down("audit_na"))
        elif word != state.given:
            self._later(lambda: self._answer(audit, ref, word))
        elif word == "not_ok":
            self.to_reaction()
        else:
            self._move(audit, _next(audit, ref))

    def step(self, by: int) -> None:
        """Show the question before (-1) or behind (1) this one."""
        if self._audit is None or self._is_busy:
            return
        refs = [asked.ref for asked in self._audit.facts.asked]
        if self._ref in refs and 0 <= (number := refs.index(self._ref) + by) < len(refs):
            self._move(self._audit, refs[number])

    def to_list(self) -> None:
        """Open the list of all questions."""
        self.session.go(replace(self.route, screen="audit_list", station="", check=""))

    def to_reaction(self) -> None:
        """Open the page on which is said what was done about this NOK."""
        if self._audit is not None:
            self.session.go(question_place(self.route, self._audit, self._ref).down("reaction"))

    def undo(self) -> None:
        """Take back the newest entry of this tablet in this audit, and show the question that it was of."""
        audit = self._audit
        if audit is None or self._is_busy:
            return

        def work() -> str | Route:
            entry = newest_of(self.session.place, audit.facts)
            undo_newest(self.session.place, audit.facts)
            if isinstance(entry, AuditStart):
                return Route(screen="audits")
            self._ref = self._ref_of(entry) or self._ref
            return tr("Taken back: {entry_in_short}", entry_in_short=entry_in_short(entry, audit.facts))

        self._later(work)

    def back(self) -> None:
        """Go back to the page that led here; every answer is on disk."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._is_busy = False
        self._show(replace(self.state, problem=str(error), saved=""))

    def _answer(self, audit: AuditSight, ref: str, word: str) -> str | Route:
        made = answer_question(self.session.place, audit.facts, ref, word)
        if word == "not_ok":
            return question_place(self.route, audit, ref).down("reaction")
        following = _next(audit, ref)
        if not following:
            return question_place(self.route, audit, "")
        self._ref = following
        return tr("On disk: {entry_in_short}", entry_in_short=entry_in_short(made, audit.facts))

    def _later(self, work: Callable[[], str | Route]) -> None:
        """Put something on disk, and only then show the page anew, or the one that comes next."""

        def run() -> AuditState | Route:
            saved = work()
            if isinstance(saved, Route):
                return saved
            self._audit = audit_here(self.session.place, self.route)
            undo = entry_in_short(newest_of(self.session.place, self._audit.facts), self._audit.facts)
            return replace(self._view(self._audit, self._ref, undo), saved=saved)

        def done(made: AuditState | Route) -> None:
            self._is_busy = False
            if isinstance(made, Route):
                self.session.go(made)
            else:
                self._show(made)
                self._let_go()

        self._is_busy = True
        self.session.run_later(run, done, self.fail)

    def _move(self, audit: AuditSight, ref: str) -> None:
        if not ref:
            self.to_list()
            return
        self._ref = ref
        self._show(self._view(audit, ref, self.state.undo))
        self._let_go()

    def _let_go(self) -> None:
        """Once another question is shown, a restart opens the first one that is not answered."""
        route = replace(self.route, station="", check="")
        if self.route.check and f"{self.route.station}/{self.route.check}" != self._ref:
            self.route = route
            self.session.run_later(lambda: self.session.kept.keep_route(route), lambda _: None, self.fail)

    def _ref_of(self, entry: Record | None) -> str:
        """Name the question that an entry is of; empty for a signature."""
        if isinstance(entry, AuditAnswer):
            return entry.ref
        about = ""
        if isinstance(entry, AuditReaction):
            about = entry.finding
        elif isinstance(entry, Photo):
            about = entry.about
        return ref_here(self.session.place, replace(self.route, entry=about, station="", check=""))

    def _view(self, audit: AuditSight, ref: str, undo: str) -> AuditState:
        facts = audit.facts
        asked = next((one for one in facts.asked if one.ref == ref), None)
        if asked is None:
            raise InputError(tr("This audit does not ask that question; go back to its list."))
        given, finding = facts.answers.get(ref), finding_of(facts, ref)
        number = facts.asked.index(asked) + 1
        is_to_read = (
            bool(asked.hazards)
            and audit.can_answer
            and not facts.start.is_paper
            and self.session.cautions_read != _opened(audit, ref)
        )
        return AuditState(
            title=asked.station_name,
            subtitle=audit.title,
            ref=ref,
            progress=tr(
                "{number} of {asked}, {answers} answered",
                number=number,
                asked=len(facts.asked),
                answers=len(facts.answers),
            ),
            cautions=asked.hazards if is_to_read else (),
            ask=asked.ask,
            how=asked.how,
            why=tr("Asked beyond the plan: {why}", why=asked.why) if asked.why else "",
            special=tr(SPECIAL) if asked.special else "",
            given=given.answer if given else "",
            told=capital(reaction_words(finding)) if finding else given.reason if given else "",
            missing=tr("NOK: {not_said}.", not_said=tr(NOT_SAID))
            if finding and finding.reaction is None
            else "",
            closed=audit.why_closed,
            can_answer=audit.can_answer,
            can_react=finding is not None,
            has_previous=number > 1,
            has_next=number < len(facts.asked),
            undo=undo,
        )


def _next(audit: AuditSight, ref: str) -> str:
    """Give the next question without an answer, other than this one; empty for none."""
    found = audit.after(ref)
    return found.ref if found and found.ref != ref else ""


def _opened(audit: AuditSight, ref: str) -> str:
    """Name a station of an audit, as it is opened."""
    return f"{audit.facts.start.id} {ref.partition('/')[0]}"
