"""An on/off confirmation on a desk of the tests. Invented."""

from __future__ import annotations

from dataclasses import replace

from tests.builders import record_id
from tests.quarrels import OTHER_TABLET
from walkapp.actions.confirmations import confirmation_called
from walkapp.actions.reading import concern_facts
from walkapp.actions.switching import count_turn, measure_turn, open_confirmation
from walkapp.model.records import ConfirmationTurn
from walkapp.presenters.route import Route

PADS = {"what": "clamp pads", "on": "hard pads", "off": "soft pads", "response": "nok"}
FORCE = {
    "what": "clamp force",
    "on": "900 N",
    "off": "600 N",
    "response": "value",
    "measured": "crack length",
    "unit_of_measure": "mm",
}


class Switch:
    """One concern on one desk, and one confirmation of it."""

    def __init__(self, desk, concern="", **said) -> None:
        self.desk = desk
        self.concern = concern or desk.concern()
        self.record = open_confirmation(desk.place, self.facts, **{**PADS, **said})
        self.route = Route(screen="confirmation", concern=self.concern, entry=self.record.id)

    @property
    def facts(self):
        return concern_facts(self.desk.place, self.concern)

    @property
    def found(self):
        return confirmation_called(self.facts, self.record.id)

    def count(self, number, nok, checked=20):
        return count_turn(self.desk.place, self.found, number, checked, nok)

    def counts(self, *noks, checked=20):
        """Record turns one after the other."""
        return [self.count(number, nok, checked) for number, nok in enumerate(noks, start=1)]

    def measure(self, number, *values):
        return [measure_turn(self.desk.place, self.found, number, value) for value in values]

    def arrive(self, record, number=1, **more):
        """Let a record like this one come from the other tablet."""
        came = replace(
            record,
            id=record_id(9_000_000 + number),
            device=OTHER_TABLET,
            number=number,
            by="SL-KB",
            **more,
        )
        self.desk.store.merge([came], name=f"other {number}", photos={}, checklists={})
        return came

    @property
    def turns(self):
        """The records of turns, as they lie on disk."""
        return [record for record in self.desk.records if isinstance(record, ConfirmationTurn)]
