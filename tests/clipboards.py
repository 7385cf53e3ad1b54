"""A tablet on the morning of 9 March 2026, with something that audits ask beyond their plan. Invented."""

from __future__ import annotations

import shutil
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

from tests.fakes import CHECKLISTS, Desk
from walkapp.actions.acting import action_facts
from walkapp.actions.action_records import ask_for_a_while, open_action, say_done
from walkapp.actions.audits.doing import answer_question, begin_audit
from walkapp.actions.audits.paper import asked_on_paper
from walkapp.actions.audits.reading import audit_facts
from walkapp.actions.audits.states import planned_audit
from walkapp.actions.reading import concern_facts

STREAM = "washer-reservoir"
MONDAY = date(2026, 3, 9)
AT_HALF_PAST_SIX = datetime(2026, 3, 9, 6, 30, tzinfo=timezone(timedelta(hours=1)))


class Clipboard:
    """A desk, and short ways to what its audits ask.

    Parameters
    ----------
    folder
        Where its store and its checklists lie.
    seed
        What tells its ids from those of other tablets.
    """

    def __init__(self, folder: Path, seed: int = 0) -> None:
        self.desk = Desk(folder, seed=seed, by="QE-RT", starts=AT_HALF_PAST_SIX)
        self.place = self.desk.place

    @property
    def stream(self):
        return self.place.stream(STREAM)

    def planned(self, layer="supervisor", day=MONDAY, shift=""):
        return planned_audit(self.place, self.stream, layer, day, shift)

    def asked(self, **which):
        return asked_on_paper(self.place, self.stream, self.planned(**which))

    def at(self, text: str) -> None:
        """Set the clock of the tablet."""
        self.place.now.time = datetime.fromisoformat(text)

    def watch(self, from_on="2026-03-09", until_on="2026-04-28", station="leak-test"):
        """Let a fix be watched; give what audits ask then, as a reference."""
        concern = self.desk.concern(reported_on="2026-02-26")
        facts = concern_facts(self.place, concern)
        said = {"aim": "corrective", "what": "Soft pads", "owner": "ME-KL", "due_on": "2026-03-06"}
        action = open_action(self.place, facts, **said).action
        say_done(
            self.place,
            facts,
            action_facts(self.place, concern, action),
            done_on="2026-03-06",
            evidence="Seen",
        )
        facts = concern_facts(self.place, concern)
        question = ask_for_a_while(
            self.place,
            facts,
            action_facts(self.place, concern, action),
            station=station,
            question="Soft clamp pads still fitted?",
            from_on=from_on,
            until_on=until_on,
        )
        return f"{station}/{question.id}"

    def find_nok(self) -> str:
        """Let the shift lead's audit of today find something; give the question."""
        start = begin_audit(self.place, self.stream, self.planned("shift-lead", shift="early"))
        facts = audit_facts(self.place, start.concern, start.id)
        answer_question(self.place, facts, facts.asked[0].ref, "not_ok")
        return facts.asked[0].ref


def change_audits(clipboard: Clipboard, folder: Path, old: str, new: str) -> None:
    """Give a tablet a copy of the checklists of which one line of the audits is another one."""
    shutil.copytree(CHECKLISTS, folder)
    path = folder / STREAM / "audits.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    clipboard.place.checklists = folder
