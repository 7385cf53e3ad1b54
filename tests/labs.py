"""An invented inspection study on a desk of the tests, and inspectors who are right but where said."""

from __future__ import annotations

from walkapp.actions.reading import concern_facts
from walkapp.actions.studies import open_study, read_part, study_facts

BAD, GOOD = ("3", "4", "7", "8", "11", "12"), ("1", "2", "5", "6", "9", "10")


class Lab:
    """One study on one desk, read anew for every step."""

    def __init__(self, desk, concern="", study="") -> None:
        self.desk = desk
        self.concern = concern or desk.concern()
        self.study = study or self.open().id

    def open(self, **changes):
        said = {"station": "leak-test", "check": "ear-look", "bad": BAD, "good": GOOD, "repeats": 2}
        said |= changes
        facts = concern_facts(self.desk.place, self.concern)
        return open_study(self.desk.place, facts, said.pop("station"), said.pop("check"), **said)

    @property
    def now(self):
        return study_facts(self.desk.place, self.concern, self.study)

    def read(self, inspector, count=1, wrong=()):
        for _ in range(count):
            now = self.now
            turn = now.next_turn(inspector)
            is_nok = (turn.part in BAD) != ((turn.part, turn.repeat) in wrong)
            read_part(self.desk.place, now, inspector, turn, "not_ok" if is_nok else "ok")

    def finish(self, *inspectors, wrong=()):
        for inspector in inspectors:
            self.read(inspector, self.now.looks - self.now.done(inspector), wrong)

    def locate(self):
        return concern_facts(self.desk.place, self.concern).locate()
