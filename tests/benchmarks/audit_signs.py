"""How often audits tell something where everybody looks, and how often they tell of a bad habit; invented.

Run by hand::

    python -m tests.benchmarks.audit_signs                # 1,000 plants a row: about twenty minutes
    python -m tests.benchmarks.audit_signs --plants 300

All plants are invented. Each has 28 questions at seven stations, three shifts that audit every working day,
a supervisor who audits daily, a department manager weekly and a plant manager monthly, each in rounds of
their own; eight weeks unless the row says otherwise. Printed: the share of plants with any prompt of
``signs_of`` (goal where everybody looks: at most 5 %), its parts, and the share with any prompt of
``disagreements_of`` (goal: at most 5 %). The rows of bad habits print how often the group that
has it is told, and how often another is.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from walkapp.analysis.audits.facts import AuditDone, Given, Prompt
from walkapp.analysis.audits.layers import disagreements_of
from walkapp.analysis.audits.pace import PACE
from walkapp.analysis.audits.runs import LONG_RUN, NEVER_NOK, SAME_REASON
from walkapp.analysis.audits.signs import signs_of
from walkapp.analysis.proportions import proportion_interval

STATIONS, QUESTIONS = 7, 4
FIRST = datetime(2026, 3, 2, tzinfo=UTC)

LAYERS = (
    # layer, shift, audits every so many days, begins at, stations, questions
    ("shift-lead", "early", 1, 7.0, 2, 3),
    ("shift-lead", "late", 1, 15.0, 2, 3),
    ("shift-lead", "night", 1, 23.0, 2, 3),
    ("supervisor", "", 1, 10.0, 2, 3),
    ("manager", "", 5, 11.0, 2, 4),
    ("plant-manager", "", 20, 13.0, 3, 3),
)
HABIT = "shift-lead, night"


@dataclass(frozen=True, kw_only=True)
class Plant:
    """What an invented plant is like.

    Parameters
    ----------
    days
        Working days.
    share
        Mean share NOK of the questions; each question has its own, up to twice that.
    defects
        Defects that come up a day, at any question; each is seen by nine of ten until it is mended, up to
        five days after it was first found.
    asks_again
        Whether what was NOK is asked again by each audit until it was OK twice.
    bad_days
        Share of days on which all questions are NOK five times as often.
    still
        Share of shifts in which all stations stand still: N/A throughout.
    paces
        Least and greatest factor that a group's times are multiplied with.
    list_mode
        Groups that look at a whole station first and tap the answers then.
    starts
        First day of a group.
    habit
        Says what the group ``HABIT`` makes of an answer: working day, answer, seconds, whether it is the
        first of a station; none for no bad habit.
    persons
        Whether groups are persons, three for each layer and shift in turn, not layer and shift.
    judges
        What the supervisor's share NOK is multiplied with at the questions of the first station.
    """

    days: int = 40
    share: float = 0.05
    defects: float = 0.0
    asks_again: bool = False
    bad_days: float = 0.0
    still: float = 0.0
    paces: tuple[float, float] = (1.0, 1.0)
    list_mode: tuple[str, ...] = ()
    starts: dict[str, int] = field(default_factory=dict)
    habit: Callable[[int, str, float, bool], tuple[str, float]] | None = None
    persons: bool = False
    judges: float = 1.0


def group_of(audit: AuditDone) -> str:
    """Name layer and shift."""
    return f"{audit.layer}, {audit.shift}" if audit.shift else audit.layer


def person_of(audit: AuditDone) -> str:
    """Name who did it."""
    return audit.by


@dataclass
class _Defect:
    ref: str
    until: float


class _Floor:
    """The days of one plant."""

    def __init__(self, plant: Plant, chance: random.Random) -> None:
        self.plant, self.chance = plant, chance
        self.refs = {s: [f"s{s}/q{q}" for q in range(QUESTIONS)] for s in range(STATIONS)}
        every = [ref for refs in self.refs.values() for ref in refs]
        self.shares = {ref: plant.share * 2 * chance.random() for ref in every}
        self.takes = {ref: 15 + 45 * chance.random() for ref in every}
        groups = [f"{layer}, {shift}" if shift else layer for layer, shift, *_ in LAYERS]
        low, high = plant.paces
        self.pace = {group: low * (high / low) ** chance.random() for group in groups}
        self.rounds: dict[tuple[str, int], list] = {}
        self.defects: list[_Defect] = []
        self.again: dict[str, dict[str, int]] = {group: {} for group in groups}

    def days(self) -> list[AuditDone]:
        done = []
        for day in range(self.plant.days):
            bad = self.chance.random() < self.plant.bad_days
            while self.chance.random() < self.plant.defects / (1 + self.plant.defects):
                ref = self.chance.choice(list(self.shares))
                self.defects.append(_Defect(ref, day + self.chance.random() + 20))
            for layer, shift, every, hour, stations, questions in LAYERS:
                group = f"{layer}, {shift}" if shift else layer
                if day % every == 0 and day >= self.plant.starts.get(group, 0):
                    done.append(self._audit(day, bad, layer, shift, hour, stations, questions))
        return done

    def _next(self, key: tuple[str, int], many: int, choices: list) -> list:
        """Take the next of a round; each round is a new random order."""
        found: list = []
        while len(found) < many:
            left = self.rounds.setdefault(key, [])
            if not left:
                left.extend(self.chance.sample(choices, len(choices)))
            one = left.pop()
            if one not in found:
                found.append(one)
        return found

    def _audit(
        self, day: int, bad: bool, layer: str, shift: str, hour: float, stations: int, questions: int
    ) -> AuditDone:
        plant, chance = self.plant, self.chance
        group = f"{layer}, {shift}" if shift else layer
        week, weekday = divmod(day, 5)
        begun = FIRST + timedelta(days=7 * week + weekday, hours=hour)
        asked = []
        for station in self._next((group, -1), stations, list(self.refs)):
            asked += self._next((group, station), questions, self.refs[station])
        if plant.asks_again:
            more = [ref for ref, left in self.again[group].items() if left and ref not in asked][:3]
            asked += sorted(more)
        still = chance.random() < plant.still
        own = self.pace[group] * chance.lognormvariate(0, 0.2)
        given, at, before = [], begun, ""
        looked = [own * self.takes[ref] * chance.lognormvariate(0, 0.5) for ref in asked]
        for place, ref in enumerate(asked):
            station = ref.split("/")[0]
            is_first = station != before
            before = station
            seconds = looked[place]
            if group in plant.list_mode:
                same = [looked[i] for i, other in enumerate(asked) if other.split("/")[0] == station]
                seconds = sum(same) if is_first else 1 + chance.random()
            if is_first:
                seconds += 30 + 60 * chance.random()
            answer = "not_applicable" if still else self._answer(day + hour / 24, bad, layer, ref)
            if plant.habit and group == HABIT:
                answer, seconds = plant.habit(day, answer, seconds, is_first)
            if answer == "not_ok":
                for others in self.again.values():
                    others[ref] = 2
            elif answer == "ok" and self.again[group].get(ref):
                self.again[group][ref] -= 1
            at += timedelta(seconds=seconds)
            given.append(
                Given(
                    id=f"{day:04} {group} {ref}",
                    station=station,
                    ref=ref,
                    asked=ref,
                    answer=answer,
                    reason="stands still" if answer == "not_applicable" else "",
                    at=at,
                    seconds=seconds,
                    expected=None,
                )
            )
        return AuditDone(
            id=f"{day:04} {group}",
            layer=layer,
            day=begun.date(),
            shift=shift,
            by=f"{group} {chance.randrange(3)}",
            begun=begun,
            signed=at,
            is_paper=False,
            given=tuple(given),
            unanswered=0,
        )

    def _answer(self, moment: float, bad: bool, layer: str, ref: str) -> str:
        share = self.shares[ref] * (5 if bad else 1)
        if layer == "supervisor" and ref.startswith("s0/"):
            share *= self.plant.judges
        nok = self.chance.random() < share
        for defect in self.defects:
            if defect.ref == ref and moment < defect.until and self.chance.random() < 0.9:
                nok = True
                defect.until = min(defect.until, moment + 5 * self.chance.random())
        return "not_ok" if nok else "ok"


def prompts_of(plant: Plant, seed: int) -> tuple[list[Prompt], list[Prompt]]:
    """Give signs and disagreements of one invented plant."""
    done = _Floor(plant, random.Random(seed)).days()
    by = person_of if plant.persons else group_of
    return list(signs_of(done, by)), list(disagreements_of(done, {}))


def _filled_in(part: float, walks: bool, since: int = 0) -> Callable:
    """All OK in a part of the time; the way is walked or not."""

    def habit(day: int, answer: str, seconds: float, is_first: bool) -> tuple[str, float]:
        if day < since:
            return answer, seconds
        if walks and is_first:
            return "ok", 60 + part * max(0.0, seconds - 60)
        return "ok", part * seconds

    return habit


def _all_ok(day: int, answer: str, seconds: float, is_first: bool) -> tuple[str, float]:
    return "ok", seconds


def _stands_still(day: int, answer: str, seconds: float, is_first: bool) -> tuple[str, float]:
    return ("not_applicable" if 10 <= day < 15 else answer), seconds


EVERYTHING = Plant(
    defects=0.3,
    share=0.02,
    asks_again=True,
    bad_days=0.05,
    still=0.02,
    paces=(0.6, 1.7),
    list_mode=("shift-lead, late",),
)

HONEST: dict[str, Plant] = {
    "all alike, 5 % NOK": Plant(),
    "all alike, 1 % NOK": Plant(share=0.01),
    "all alike, 20 % NOK": Plant(share=0.2),
    "all alike, 26 weeks": Plant(days=130),
    "by person": Plant(persons=True),
    "defects come and are mended": Plant(share=0.01, defects=0.5),
    "the same, asked again": Plant(share=0.01, defects=0.5, asks_again=True),
    "some bad days": Plant(share=0.02, bad_days=0.1),
    "paces 0.6 to 1.7": Plant(paces=(0.6, 1.7)),
    "one group looks first, taps then": Plant(list_mode=(HABIT,)),
    "shifts that stand still": Plant(still=0.05),
    "one shift begins half-way": Plant(defects=0.5, share=0.01, starts={HABIT: 20}),
    "all of this together": EVERYTHING,
    "all of this, by person": Plant(
        defects=0.3,
        share=0.02,
        asks_again=True,
        bad_days=0.05,
        still=0.02,
        paces=(0.6, 1.7),
        list_mode=("shift-lead, late",),
        persons=True,
    ),
}
"""Plants in which everybody looks."""

HABITS: dict[str, Plant] = {
    "20 audits: OK, time 30 %, stays put": Plant(days=20, habit=_filled_in(0.3, False)),
    "20 audits: OK, time 25 %, stays put": Plant(days=20, habit=_filled_in(0.25, False)),
    "20 audits: OK, time 15 %, stays put": Plant(days=20, habit=_filled_in(0.15, False)),
    "20 audits: OK, time 15 %, but walks": Plant(days=20, habit=_filled_in(0.15, True)),
    "8 audits: OK, time 15 %, stays put": Plant(days=8, habit=_filled_in(0.15, False)),
    "20 audits: OK in usual time": Plant(days=20, habit=_all_ok),
    "40 audits: OK in usual time": Plant(habit=_all_ok),
    "40 audits: OK in usual time, 10 % NOK": Plant(share=0.1, habit=_all_ok),
    "40 audits, the last 20: OK, time 15 %": Plant(habit=_filled_in(0.15, False, 20)),
    "60 audits, the last 40: OK, usual time": Plant(
        days=60, share=0.1, habit=lambda d, a, s, f: ("ok" if d >= 20 else a, s)
    ),
    "one week of N/A, same reason": Plant(habit=_stands_still),
    "supervisor finds 4 times as many": Plant(judges=4.0),
    "the same, 26 weeks": Plant(days=130, judges=4.0),
    "supervisor finds 8 times as many": Plant(judges=8.0),
}
"""Plants with one habit, or one layer that judges differently at one station."""


def count(plant: Plant, plants: int, first_seed: int = 1) -> Counter[str]:
    """Count the plants with a prompt, by kind and for whom."""
    found: Counter[str] = Counter()
    for seed in range(first_seed, first_seed + plants):
        signs, layers = prompts_of(plant, seed)
        kinds = {prompt.kind for prompt in signs}
        found.update(kinds)
        found["any sign"] += bool(signs)
        found["disagree"] += bool(layers)
        found["habit"] += any(prompt.where == HABIT for prompt in signs)
        found["other"] += any(prompt.where != HABIT for prompt in signs)
    return found


def main() -> None:
    """Print all rows."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--plants", type=int, default=1_000)
    many = parser.parse_args().plants

    def cell(hits: int) -> str:
        limits = proportion_interval(hits, many)
        return f"{hits / many:6.1%} ({limits.low:5.1%} to {limits.high:5.1%})"

    print(f"{'everybody looks':42} {'any sign':26} pace  never  run   N/A   {'layers disagree':26}")
    for name, plant in HONEST.items():
        found = count(plant, many)
        parts = " ".join(f"{found[kind] / many:5.1%}" for kind in (PACE, NEVER_NOK, LONG_RUN, SAME_REASON))
        print(f"{name:42} {cell(found['any sign'])} {parts} {cell(found['disagree'])}", flush=True)
    print(f"{'a habit':42} {'told of the group':26} pace  never  run   N/A   other  disagree")
    for name, plant in HABITS.items():
        found = count(plant, many)
        parts = " ".join(
            f"{found[kind] / many:5.1%}"
            for kind in (PACE, NEVER_NOK, LONG_RUN, SAME_REASON, "other", "disagree")
        )
        print(f"{name:42} {cell(found['habit'])} {parts}", flush=True)


if __name__ == "__main__":
    main()
