"""What is done about the concern of the demo, entry by entry from a TOML file: everything is made up.

The entries go through the same actions as in the app, each at its own time, so that what follows from
them, such as what is contained, proved or overdue, is worked out from records as on the floor.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from walkapp.actions.acting import action_facts
from walkapp.actions.action_records import ask_for_a_while, check_effect, open_action, say_done
from walkapp.actions.confirmations import confirmation_called
from walkapp.actions.containing import (
    record_clean_point,
    record_escape,
    record_range,
    record_sorting,
    record_stock,
)
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.lessons import record_lesson
from walkapp.actions.read_across import record_read_across
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.switching import count_turn, open_confirmation
from walkapp.actions.trial_work import FactorSaid, open_trial, record_run
from walkapp.actions.trials import trial_facts
from walkapp.demo.pictures import draw
from walkapp.demo.tablets import Tablet, read_scenario

Said = dict[str, Any]


class FixRecorder:
    """Records what is done about one concern.

    Parameters
    ----------
    tablet
        The desk or tablet; its store is open.
    concern
        Id of the concern.
    """

    def __init__(self, tablet: Tablet, concern: str) -> None:
        self._tablet = tablet
        self._place = tablet.place
        self._concern = concern
        self._ids: dict[tuple[str, str], str] = {}

    def record_all(self) -> None:
        """Record every entry of the scenario's second file, then move the clock to its end."""
        story = read_scenario("-fix")
        for entry in story["entry"]:
            self._tablet.clock.time = entry["at"]
            said = {
                name: _plain(value) for name, value in entry.items() if name not in ("at", "do", "name")
            }
            made = _DO[entry["do"]](self, said)
            if "name" in entry:
                self._ids[entry["do"], entry["name"]] = made
        self._tablet.clock.time = story["until"]

    @property
    def _facts(self) -> ConcernFacts:
        return concern_facts(self._place, self._concern)

    def _suspect_range(self, said: Said) -> str:
        return record_range(self._place, self._facts, **said).id

    def _suspect_stock(self, said: Said) -> str:
        return record_stock(self._place, self._facts, kind=said.pop("place"), **said).stock

    def _sorting(self, said: Said) -> str:
        stock = self._ids["suspect_stock", said.pop("stock")]
        return record_sorting(self._place, self._facts, stock, **said).id

    def _clean_point(self, said: Said) -> str:
        return record_clean_point(self._place, self._facts, **said).id

    def _escape(self, said: Said) -> str:
        return record_escape(self._place, self._facts, **said).id

    def _trial(self, said: Said) -> str:
        factors = [FactorSaid(**factor) for factor in said.pop("factors")]
        results: dict[str, list[int]] = {name: list(values) for name, values in said.pop("nok").items()}
        opened = open_trial(self._place, self._facts, factors, invented=True, **said)
        now = trial_facts(self._place, self._concern, opened.id)
        for number, run in enumerate(now.planned, start=1):
            waiting = results.get(" ".join("high" if level > 0 else "low" for level in run.levels))
            nok = waiting.pop(0) if waiting else 0
            record_run(self._place, now, number, checked=said["parts"], nok=nok)
            now = trial_facts(self._place, self._concern, opened.id)
        return opened.id

    def _confirmation(self, said: Said) -> str:
        turns = said.pop("turns")
        opened = open_confirmation(self._place, self._facts, invented=True, **said)
        for number, turn in enumerate(turns, start=1):
            now = confirmation_called(self._facts, opened.id)
            count_turn(self._place, now, number, turn["checked"], turn["nok"])
        return opened.id

    def _action(self, said: Said) -> str:
        return open_action(self._place, self._facts, **said).action

    def _action_done(self, said: Said) -> str:
        action = self._ids["action", said.pop("action")]
        picture, caption = said.pop("picture", ""), said.pop("caption", "")
        if picture:
            subject = Subject(concern=self._concern, about=action)
            keep_photo(self._place, subject, draw(picture), picture, caption=caption, invented=True)
        return say_done(self._place, self._facts, self._now(action), **said).id

    def _effect_check(self, said: Said) -> str:
        action = self._ids["action", said.pop("action")]
        return check_effect(self._place, self._facts, self._now(action), **said).id

    def _watch_question(self, said: Said) -> str:
        action = self._ids["action", said.pop("action")]
        return ask_for_a_while(self._place, self._facts, self._now(action), **said).id

    def _now(self, action: str) -> Any:
        return action_facts(self._place, self._concern, action)

    def _read_across(self, said: Said) -> str:
        stream, station = said.pop("other_stream"), said.pop("other_station")
        return record_read_across(self._place, self._facts, stream, station, **said).id

    def _lesson(self, said: Said) -> str:
        return record_lesson(self._place, self._facts, **said).id


_DO: Mapping[str, Callable[[FixRecorder, Said], str]] = {
    "suspect_range": FixRecorder._suspect_range,
    "suspect_stock": FixRecorder._suspect_stock,
    "sorting": FixRecorder._sorting,
    "clean_point": FixRecorder._clean_point,
    "escape": FixRecorder._escape,
    "trial": FixRecorder._trial,
    "confirmation": FixRecorder._confirmation,
    "action": FixRecorder._action,
    "action_done": FixRecorder._action_done,
    "effect_check": FixRecorder._effect_check,
    "watch_question": FixRecorder._watch_question,
    "read_across": FixRecorder._read_across,
    "lesson": FixRecorder._lesson,
}
"""What an entry of the scenario records, by its ``do``."""


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value
