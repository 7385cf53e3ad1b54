"""The forms of an audit that is begun: what was done about a NOK, why one does not apply, the signature."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta

from walkapp.actions.audits.book import Finding
from walkapp.actions.audits.doing import answer_question, react, sign_audit
from walkapp.actions.audits.reading import AuditFacts, asked_words
from walkapp.actions.days import today
from walkapp.actions.workplace import NOBODY
from walkapp.analysis.wording import capital
from walkapp.errors import InputError
from walkapp.language import msg, tr, tr_choices, tr_each, trn
from walkapp.presenters.action_forms import DUE_DAYS, days_after
from walkapp.presenters.audits.sight import AuditSight, audit_here, onward, ref_here
from walkapp.presenters.audits.words import (
    DONE_WORDINGS,
    NOT_APPLICABLE_REASONS,
    NOT_SAID,
    REACTION_CHOICES,
    counts_words,
    finding_of,
    if_signed_words,
    reaction_words,
    span_words,
)
from walkapp.presenters.change_words import NOBODY as NO_ROLE
from walkapp.presenters.change_words import ROLES
from walkapp.presenters.form import FormField, FormPage, as_options
from walkapp.presenters.route import Route
from walkapp.presenters.wording import moment_text

MOST_FINDINGS = 8
"""NOK answers that are told one by one before an audit is signed."""

REACTION_CAUTIONS = (
    msg("Stop and hold suspect parts first; then the rest."),
    msg("Danger to people, or a safety-related part: tell at once whom your site's rules name."),
    msg("Equipment is set and mended by qualified people only, by your site's rules."),
)


class AuditForm(FormPage):
    """A form about a question of an audit, or about the whole of it."""

    _audit: AuditSight | None = None
    _ref = ""

    @property
    def _draft_name(self) -> str:
        # Pictures lead away and back with another entry; what was filled in belongs to the question.
        audit = self._audit.facts.start.id if self._audit else self.route.entry
        return " ".join((self.route.screen, audit, self._ref))

    def _read(self) -> AuditSight:
        place = self.session.place
        self._audit, self._ref = audit_here(place, self.route), ref_here(place, self.route)
        return self._audit

    def _onward(self) -> Route:
        return onward(self.route.up(), self._read(), self._ref)


class ReactionForm(AuditForm):
    """Records what was done about a NOK."""

    title = msg("NOK: what was done?")
    do = msg("Record what was done")
    _finding: Finding | None = None

    def other(self) -> None:
        """Take a picture that shows the finding; it leads back here."""
        if self._finding is not None:
            self.session.go(self.route.down("evidence", entry=self._finding.answer.id))

    def _find(self) -> tuple[AuditFacts, Finding]:
        facts = self._read().facts
        self._finding = finding_of(facts, self._ref)
        if self._finding is None:
            raise InputError(tr("This question is not answered NOK any more; go back to the audit."))
        return facts, self._finding

    def _first_values(self) -> dict[str, str]:
        _, finding = self._find()
        said = finding.reaction
        if said is None:
            return {}
        return {
            "reaction": said.reaction,
            "what": said.what,
            "owner": said.owner,
            "due_on": said.due_on,
        }

    def _cautions(self) -> tuple[str, ...]:
        return tr_each(REACTION_CAUTIONS)

    def _words(self) -> tuple[str, ...]:
        if self._audit is None or self._finding is None:
            return ()
        answer = self._finding.answer
        names = {one.ref: one.station_name for one in self._audit.facts.asked}
        return (
            tr("On disk: NOK at {get}.", get=names.get(answer.ref, answer.station)),
            asked_words(self.session.place, self._finding.start, answer),
        )

    def _other_words(self) -> str:
        pictures = len(self._finding.pictures) if self._finding else 0
        return tr("Picture ({pictures} so far)", pictures=pictures) if pictures else tr("Picture")

    def _fields(self) -> tuple[FormField, ...]:
        reaction = self._values.get("reaction", "")
        fields = [
            FormField(
                name="reaction",
                label=tr("What was done about it"),
                form="choice",
                options=tr_choices(REACTION_CHOICES),
                is_required=True,
            ),
            FormField(
                name="what",
                label=tr("What was found and done"),
                form="offered",
                options=as_options(tr_each(DONE_WORDINGS.get(reaction, ()))),
                hint=tr("Tap one and add to it, or use your own words; no names"),
                is_required=True,
            ),
        ]
        if reaction in ("contained", "escalated"):
            begins = today(self.session.place).isoformat()
            days = ((days_after(begins, steps), words) for steps, words in tr_choices(DUE_DAYS))
            fields += [
                FormField(
                    name="owner",
                    label=tr("Who sees to the rest"),
                    form="offered",
                    options=as_options(self._owners()),
                    hint=tr("Role or initials, never a name"),
                    is_required=True,
                ),
                FormField(
                    name="due_on",
                    label=tr("Until when"),
                    form="day",
                    options=tuple(days),
                    is_required=True,
                ),
            ]
        return tuple(fields)

    def _owners(self) -> Iterator[str]:
        own = self.session.place.by
        if own != NOBODY:
            yield own
        yield from (role for role in tr_each(one for one in ROLES if one != NO_ROLE) if role != own)

    def _next_field(self, name: str, value: str) -> str:
        is_corrected = self._values.get("reaction") == "corrected"
        if name == "reaction":
            return "what"
        if name == "what" and any(value in tr_each(words) for words in DONE_WORDINGS.values()):
            return "" if is_corrected else "owner"
        return "due_on" if name == "owner" and value in self._owners() else ""

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts, finding = self._find()
        react(
            self.session.place,
            facts,
            finding,
            values["reaction"],
            values["what"],
            owner=values.get("owner", ""),
            due_on=values.get("due_on", ""),
        )
        return self._onward()


class NotApplicableForm(AuditForm):
    """Asks why a question of an audit does not apply."""

    title = msg("Why does this question not apply?")
    do = msg("Record N/A")

    def _first_values(self) -> dict[str, str]:
        given = self._read().facts.answers.get(self._ref)
        return {"reason": given.reason} if given and given.reason else {}

    def _words(self) -> tuple[str, ...]:
        asked = self._audit.facts.asked if self._audit else ()
        return tuple(f"{one.station_name}: {one.ask}" for one in asked if one.ref == self._ref)

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="reason",
                label=tr("Reason"),
                form="offered",
                options=as_options(tr_each(NOT_APPLICABLE_REASONS)),
                hint=tr("Or in your own words"),
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts = self._read().facts
        answer_question(self.session.place, facts, self._ref, "not_applicable", values["reason"])
        return self._onward()


class SignAuditForm(AuditForm):
    """Signs an audit, with what is signed said once more."""

    title = msg("Sign this audit")
    do = msg("Sign")

    def _first_values(self) -> dict[str, str]:
        self._read()
        return {}

    def _words(self) -> tuple[str, ...]:
        return tuple(_summary(self._audit, self.session.place.now())) if self._audit else ()

    def _fields(self) -> tuple[FormField, ...]:
        own = self.session.place.by
        return (
            FormField(
                name="by",
                label=tr("Your role and initials"),
                form="offered",
                options=((own, own),) if own != NOBODY else (),
                hint=tr("For example SL-AB; no name"),
                is_required=True,
            ),
            FormField(name="note", label=tr("What else was seen"), lines=2),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts = self._read().facts
        self.session.remember_person(values["by"])
        sign_audit(self.session.place, facts, values["note"])
        return self.route.up()


def _summary(audit: AuditSight, now: datetime) -> Iterator[str]:
    """Say what is signed: which audit, its answers, what was done about each NOK, and how long it took."""
    facts = audit.facts
    asked = {one.ref: one.ask for one in facts.asked}
    yield f"{audit.title}. {counts_words(facts)}."
    for finding in facts.findings[:MOST_FINDINGS]:
        yield tr(
            "NOK: {asked} {what}.",
            asked=asked.get(finding.answer.ref, finding.answer.asked),
            what=capital(reaction_words(finding) or tr(NOT_SAID)),
        )
    if (more := len(facts.findings) - MOST_FINDINGS) > 0:
        yield trn(
            "And {count} more NOK; the list has them all.",
            "And {count} more NOK; the list has them all.",
            more,
        )
    yield _time_in_words(facts, now)
    if audit.planned is not None:
        yield if_signed_words(audit.planned, facts, now)


def _time_in_words(facts: AuditFacts, now: datetime) -> str:
    begun = moment_text(facts.begun_at.isoformat())
    if facts.start.is_paper:
        return tr("Done on paper by {by}, begun {begun}.", by=facts.by, begun=begun)
    took = now - facts.begun_at
    # A clock that was set back tells nothing of how long it took.
    return (
        tr("Begun {begun}, {span} ago.", begun=begun, span=span_words(took))
        if took >= timedelta(0)
        else tr("Begun {begun}.", begun=begun)
    )
