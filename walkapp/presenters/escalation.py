"""Who was told of a safety-class concern, and when: the caution, the form, and the list."""

from __future__ import annotations

from collections.abc import Mapping

from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.walking import record_escalation
from walkapp.language import msg, tr, trn
from walkapp.model.records import Escalation, Record
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.form import FormField, FormPage
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.wording import moment_text

CAUTION = msg(
    "Safety or regulatory class: stop the flow of suspect parts and tell the responsible "
    "people by your site's escalation rules and the customer's requirements now. This "
    "caution stays until it is recorded who was told and when."
)
MOST_NAMED = 5
MOST_LISTED = 50
WHO_DECIDES = msg("Your site's escalation rules and the customer's requirements decide who must be told.")


def escalation_text(facts: ConcernFacts) -> str:
    """Say the caution of a safety-class concern, or who was told; empty for neither."""
    if facts.needs_escalation:
        return tr(CAUTION)
    told = [f"{r.told}, {moment_text(r.told_at)}" for r in facts.escalations]
    if len(told) > MOST_NAMED:
        more = len(told) - MOST_NAMED
        told = [*told[:MOST_NAMED], trn("and {count} more", "and {count} more", more)]
    return tr("Told: {told}.", told="; ".join(told)) if told else ""


def escalation_rows(facts: ConcernFacts) -> tuple[ListRow, ...]:
    """Give the row of the concern's page that leads to recording who was told, or to all who were."""
    if facts.needs_escalation:
        return (
            ListRow(
                id="escalation",
                title=tr("Record who was told"),
                subtitle=tr("By role and initials, and when."),
                mark="undecided",
            ),
        )
    if facts.escalations:
        return (
            ListRow(id="told", title=tr("Who was told"), subtitle=tr("See all, add another, or undo.")),
        )
    return ()


def station_caution(facts: ConcernFacts) -> tuple[ListRow, ...]:
    """Give the caution as every station of a walk shows it while nobody was told."""
    if not facts.needs_escalation:
        return ()
    return (
        ListRow(
            id="escalation",
            title=tr("Caution: safety class, and nobody was told yet"),
            subtitle=tr(
                "Tell the responsible people by your site's rules now; tap to record who and when."
            ),
            mark="caution",
        ),
    )


class EscalationForm(FormPage):
    """Records who was told of a safety-class concern, and when."""

    title = msg("Who was told")
    do = msg("Record who was told")
    is_in_walk = False

    def _first_values(self) -> dict[str, str]:
        return {"when": "now"}

    def _cautions(self) -> tuple[str, ...]:
        return (tr(WHO_DECIDES),)

    def _fields(self) -> tuple[FormField, ...]:
        asked = (
            FormField(
                name="told",
                label=tr("Role that was told"),
                hint=tr("A role, never a name"),
                is_required=True,
            ),
            FormField(
                name="when",
                label=tr("When"),
                form="choice",
                options=(("now", tr("Just now")), ("earlier", tr("Earlier"))),
                is_required=True,
            ),
        )
        if self._values.get("when") != "earlier":
            return asked
        now = self.session.place.now()
        return (
            *asked,
            FormField(name="day", label=tr("Day"), form="day", options=self._days(), is_required=True),
            FormField(
                name="time",
                label=tr("Time"),
                hint=tr("By the clock of this tablet, as {now}", now=f"{now:%H:%M}"),
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        when = {name: values[name] for name in ("day", "time") if name in values}
        record_escalation(self.session.place, self.route.concern, values["told"], **when)
        return self.route.up()


class ToldPage(BoardPage):
    """Presents everybody who was told."""

    kinds = (Escalation,)

    def press(self, button: str) -> None:
        """Open the form; it leads back here."""
        self.session.go(self.route.down(button))

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        told = facts.escalations
        rows = tuple(
            ListRow(
                id="",
                title=r.told,
                subtitle=tr(
                    "Told {told_at}, recorded {at} by {by}",
                    told_at=moment_text(r.told_at),
                    at=moment_text(r.at),
                    by=r.by,
                ),
                mark="clean",
            )
            for r in told[-MOST_LISTED:]
        )
        left_out = (
            tr("The last {most_listed} of {told}", most_listed=MOST_LISTED, told=len(told))
            if len(told) > MOST_LISTED
            else ""
        )
        return BoardState(
            title=tr("Who was told"),
            subtitle=facts.concern.what,
            cautions=(tr(CAUTION),) if facts.needs_escalation else (tr(WHO_DECIDES),),
            mark="clean" if told else "undecided",
            sentence=tr("Told, and recorded when") if told else tr("Nobody was told yet"),
            sections=(Section(name="told", words=left_out, rows=rows),),
            buttons=(BoardButton(name="escalation", text=tr("Record who was told"), tone="strong"),),
        )

    def _in_short(self, entry: Record) -> str:
        return tr("told: {told}", told=entry.told) if isinstance(entry, Escalation) else ""
