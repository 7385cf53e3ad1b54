"""Trials on a desk of the tests: hard pads and warm parts together make the crack. Invented."""

from __future__ import annotations

from walkapp.actions.reading import concern_facts
from walkapp.actions.trial_work import FactorSaid, open_trial, record_run
from walkapp.actions.trials import trial_facts
from walkapp.presenters.route import Route

PADS = FactorSaid(name="Clamp pads", low="old", high="hard", centre="medium")
PARTS = FactorSaid(name="Parts", low="cold", high="warm", centre="lukewarm")
FORCE = FactorSaid(name="Clamp force", low="90 N", high="140 N", centre="115 N")
DWELL = FactorSaid(name="Dwell", low="1 s", high="3 s", centre="2 s")
TESTER = FactorSaid(name="Tester", low="tester 1", high="tester 2", centre="both")
FACTORS = (PADS, PARTS, FORCE, DWELL, TESTER)


def together(levels):
    """Hard pads and warm parts together: 17 of 20 NOK; else hardly any."""
    return (17, 20) if levels[0] > 0 and levels[1] > 0 else (int(levels[0] > 0), 20)


class Ground:
    """One trial of one concern on one desk."""

    def __init__(self, desk, factors=2, concern="", described=(), **more) -> None:
        self.desk = desk
        self.concern = concern or desk.concern()
        said = {"what": "What makes the crack?", "station": "leak-test", "replicates": 3, **more}
        if "measured" not in said:
            said.setdefault("parts", 20)
        self.id = open_trial(desk.place, self.facts, described or FACTORS[:factors], **said).id

    @property
    def facts(self):
        return concern_facts(self.desk.place, self.concern)

    @property
    def now(self):
        return trial_facts(self.desk.place, self.concern, self.id)

    def route(self, screen, run="") -> Route:
        return Route(screen=screen, concern=self.concern, entry=self.id, number=run)

    def run(self, number, nok=0, checked=20, **more):
        if "value" in more:
            return record_run(self.desk.place, self.now, number, **more)
        return record_run(self.desk.place, self.now, number, checked=checked, nok=nok, **more)

    def run_all(self, outcome=together, leave=()):
        """Run everything but the numbers left out; the outcome is NOK and checked, or a value as text."""
        for run in self.now.planned:
            if run.number in leave:
                continue
            gave = outcome(run.levels)
            if isinstance(gave, str):
                self.run(run.number, value=gave)
            else:
                self.run(run.number, *gave)
