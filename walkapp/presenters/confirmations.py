"""The list of on/off confirmations of a concern, and the row that leads to it."""

from __future__ import annotations

from dataclasses import replace

from walkapp.actions.confirmations import (
    ConfirmationFacts,
    confirmations_of,
    lost_text,
    without_confirmation,
)
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.switching import newest_confirmation, take_back_confirmation
from walkapp.analysis.on_off import CONTRADICTED, NOT_SHOWN, POINTS, PROVED
from walkapp.language import day_said, msg, tr, tr_each, trn
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow

PROOF_MARKS = {PROVED: "clean", POINTS: "undecided", NOT_SHOWN: "not_visited", CONTRADICTED: "bad"}
"""Shape of each verdict."""

SWITCH_CAUTIONS = (
    msg("Running equipment: only qualified people switch it, by the site's rules and lock-out."),
    msg("Mark and count every trial part, and scrap it: none may get to a customer."),
)

NONE_YET = msg("Switch the suspected cause on and off: the defect must come and go with it.")


class ConfirmationsPage(BoardPage):
    """Lists the on/off confirmations of a concern."""

    def undo(self) -> None:
        """Take back the newest confirmation that this tablet opened, while it has no turns."""
        self.act(lambda: take_back_confirmation(self.session.place, self._facts()), tr("Taken back"))

    def row(self, section: str, row: str) -> None:
        """Open a confirmation."""
        self.session.go(Route(screen="confirmation", concern=self.route.concern, entry=row))

    def press(self, button: str) -> None:
        """Open the form of a new one."""
        self.session.go(Route(screen=button, concern=self.route.concern))

    def _facts(self) -> ConcernFacts:
        return concern_facts(self.session.place, self.route.concern)

    def _view(self) -> BoardState:
        facts = self._facts()
        found = confirmations_of(facts)
        newest = newest_confirmation(self.session.place, facts)
        lost = without_confirmation(facts)
        return BoardState(
            title=tr("On/off confirmation"),
            subtitle=facts.concern.what,
            cautions=tr_each(SWITCH_CAUTIONS),
            sentence="" if found else tr(NONE_YET),
            lines=(lost_text(lost),) if lost else (),
            sections=(Section(name="all", rows=tuple(confirmation_row(one) for one in reversed(found))),),
            buttons=(BoardButton(name="new_confirmation", text=tr("New confirmation"), tone="strong"),),
            can_undo=True,
            undo="" if newest is None or newest.turns or newest.set_aside else newest.record.what,
        )


def confirmation_row(found: ConfirmationFacts) -> ListRow:
    """Put a confirmation into two lines."""
    record = found.record
    day, turns = day_said(record.at[:10]), len(found.turns)
    how_far = (
        trn(
            "{day}, {count} turn: {verdict}",
            "{day}, {count} turns: {verdict}",
            turns,
            day=day,
            verdict=tr(found.verdict),
        )
        if turns
        else tr("{day}, no turn yet", day=day)
    )
    return ListRow(
        id=record.id,
        title=record.what,
        subtitle=tr("{what}, invented for the demo", what=how_far) if record.invented else how_far,
        mark=PROOF_MARKS[found.verdict],
    )


def confirmations_row(facts: ConcernFacts) -> ListRow:
    """Make the row of the concern's page."""
    found = confirmations_of(facts)
    row = ListRow(
        id="confirmations", title=tr("On/off confirmation"), subtitle=tr(NONE_YET), mark="not_visited"
    )
    if not found:
        return row
    told = next((one for one in found if one.proves), found[-1])
    verdict = told.verdict
    words = tr(verdict) if told.turns else tr("no turn yet")
    return replace(row, subtitle=f"{told.record.what}: {words}", mark=PROOF_MARKS[verdict])
