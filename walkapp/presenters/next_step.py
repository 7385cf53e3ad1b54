"""What to do next in practice, worked out anew from the records and the page: never a script.

Whoever wanders off is led back, and whoever answers differently is right as well: a step is done when the
records say so, however that came about.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from walkapp.actions.practice import InventedParts, PracticeFacts
from walkapp.actions.reading import WalkFacts, concern_facts, concern_ids, walk_facts
from walkapp.actions.workplace import Workplace
from walkapp.analysis.results import StationVerdict
from walkapp.analysis.wording import share_to
from walkapp.language import msg, tr
from walkapp.model.checklist import Check, Station
from walkapp.model.records import Answer, Count
from walkapp.presenters.concern import walk_row
from walkapp.presenters.route import Route
from walkapp.presenters.wording import ANSWER_WORDS, share_range

LEAVE = "leave-practice"
LEAVE_WORDS = msg("Leave practice")
ANEW = "practice-anew"
ANEW_WORDS = msg("Begin anew")

CAN_WAIT = msg("This page can wait: go back.")

EXAMPLE_ROLE = "QE-AB"  # no text: a role and initials are the same in every language


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """One thing that can be tapped next.

    Parameters
    ----------
    name
        Its name on the page; pages call what is tapped by it.
    label
        Words that are seen on it or above it.
    typed
        What is typed into it; empty where it is only tapped.
    """

    name: str
    label: str
    typed: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What to do next.

    Parameters
    ----------
    part
        What the person is told to have in hand; empty where that does not matter.
    says
        What has to be understood here, in a few sentences; empty for nothing.
    do
        What to do, in one short line; empty while the page is still being read.
    targets
        What to tap for it: any of them goes on, the first one fastest.
    is_done
        Whether a station is finished, so that all that is to be practised was done once.
    """

    part: str = ""
    says: str = ""
    do: str = ""
    targets: tuple[Target, ...] = ()
    is_done: bool = False


NO_STEP = Step()
"""While a page is still being read there is nothing to say."""


class NextStep:
    """Works out the next step.

    Parameters
    ----------
    place
        Where the records of practice are.
    facts
        What the invented parts are like.
    """

    def __init__(self, place: Workplace, facts: PracticeFacts) -> None:
        self._place = place
        self._facts = facts
        self._verdicts_read: set[tuple[str, str]] = set()
        """Walk and station of each verdict that was shown with its explanation; kept while the app runs."""
        self._pages: Mapping[str, Callable[[Route, Any], Step]] = {
            "home": self._home,
            "concern": self._concern,
            "start_walk": self._start_walk,
            "station": self._station,
            "judge": self._judge,
            "count": self._count,
            "photo": self._photo,
            "answer": self._answer,
        }

    def on(self, route: Route, state: Any) -> Step:
        """Give the next step on a page.

        Parameters
        ----------
        route
            The page.
        state
            What it shows now.

        Raises
        ------
        InputError
            If what the page is about is not there.
        """
        page = self._pages.get(route.screen)
        return page(route, state) if page is not None else _back(tr(CAN_WAIT))

    def _home(self, _route: Route, _state: Any) -> Step:
        newest = max(concern_ids(self._place), default="")
        if not newest:
            return Step(do=tr("Begin practice anew."), targets=(Target(name=ANEW, label=tr(ANEW_WORDS)),))
        concern = concern_facts(self._place, newest).concern
        return Step(
            do=tr("Open the concern: parts came back from the customer."),
            targets=(Target(name=f"row-{newest}", label=concern.what),),
        )

    def _concern(self, route: Route, _state: Any) -> Step:
        facts = concern_facts(self._place, route.concern)
        own = [walk for walk in facts.walks if walk.device == self._place.store.device]
        if not own:
            return Step(
                do=tr("Start a walk along the stations."),
                targets=(Target(name="start-walk", label=tr("Start a walk")),),
            )
        walk = own[-1]
        return Step(
            do=tr("Go on with your walk."),
            targets=(Target(name=f"row-{walk.id}", label=walk_row(walk, 1).title),),
        )

    def _start_walk(self, _route: Route, state: Any) -> Step:
        by = next((field for field in state.fields if field.name == "by"), None)
        if by is None:
            return NO_STEP
        if not by.value.strip():
            return Step(
                do=tr("Type role and initials, for example {example}; never a name.", example=EXAMPLE_ROLE),
                targets=(Target(name="field-by-words", label=by.label, typed=EXAMPLE_ROLE),),
            )
        return Step(
            do=tr("Read the cautions of the site, then start."),
            targets=(Target(name="record", label=state.do),),
        )

    def _station(self, route: Route, _state: Any) -> Step:
        walk = walk_facts(self._place, route.concern, route.walk)
        station = walk.stream.station(route.station)
        if station is None:
            return _back(tr(CAN_WAIT))
        if station.hazards and station.id not in walk.hazards_read:
            return Step(
                do=tr("Read the cautions of this station, then say so."),
                targets=(
                    Target(name="cautions-read", label=tr("I have read the cautions of this station")),
                ),
            )
        judged = _checks_for(walk, station)
        if (check := _unfinished(walk, station)) is not None:
            return Step(
                do=tr("Open the check that looks for the defect."),
                targets=(Target(name=f"row-{check.id}", label=check.title),),
            )
        if judged and (walk.start.id, station.id) not in self._verdicts_read:
            return Step(
                says=tr("A picture is welcome, but none is needed."),
                do=tr("See what the parts tell of this station."),
                targets=(
                    Target(name="to-answer", label=tr("First bad station")),
                    Target(name="photo", label=tr("Photo")),
                ),
            )
        return self._finished(walk, station)

    def _finished(self, walk: WalkFacts, station: Station) -> Step:
        """Say that a station is done, which one would be next, and how a real walk is begun."""
        advice = walk.facts.locate(here=station.order, thorough=False).next
        others = [
            s for s in walk.stream.stations if s.id != station.id and _unfinished(walk, s) is not None
        ]
        following = next((s for s in others if advice is not None and s.name == advice.station), None)
        following = following or next((s for s in others if s.order > station.order), None)
        following = following or next(iter(others), None)
        leave = Target(name=LEAVE, label=tr(LEAVE_WORDS))
        says = tr(
            "This station is done. For a real walk leave practice, then tap {button}.",
            button=tr("New concern"),
        )
        if following is None:
            return Step(says=says, do=tr("You have been at every station."), targets=(leave,), is_done=True)
        return Step(
            says=says,
            do=tr("Practise at the next station, or leave."),
            targets=(leave, Target(name=f"station-{following.id}", label=following.short)),
            is_done=True,
        )

    def _judge(self, route: Route, state: Any) -> Step:
        walk = walk_facts(self._place, route.concern, route.walk)
        check = _check_here(walk, route)
        if check is None or check != _unfinished(walk, walk.stream.station(route.station)):
            return _back(tr("Nothing more is needed in this check: go back."))
        station = walk.stream.station(route.station)
        done = walk.progress(station, check.id).checked if station is not None else 0
        word = "not_ok" if self._parts(route, state).has_defect(done) else "ok"
        looks = self._facts.looks[word]
        return Step(
            part=tr(
                "In your hand, invented: part {number} of {sample}. {look}",
                number=done + 1,
                sample=check.sample,
                look=tr(looks[done // 2 % len(looks)]),
            ),
            do=tr("Judge it: tap what you would call it."),
            targets=tuple(Target(name=f"answer-{one}", label=ANSWER_WORDS[one]) for one in _ANSWERS),
        )

    def _count(self, route: Route, state: Any) -> Step:
        walk = walk_facts(self._place, route.concern, route.walk)
        check = _check_here(walk, route)
        if check is None:
            return _back(tr("Nothing more is needed in this check: go back."))
        parts = self._parts(route, state)
        nok = sum(parts.has_defect(number) for number in range(check.sample))
        look = self._facts.looks["not_ok"][0]
        part = tr(
            "Before you, invented: {sample} parts. On {nok} of them: {look}",
            sample=check.sample,
            nok=nok,
            look=tr(look),
        )
        if state.pad is not None:
            return _typing(part, state.pad.text, str(nok if state.pad_for == "nok" else check.sample))
        if check == _unfinished(walk, walk.stream.station(route.station)):
            return Step(
                part=part,
                do=tr("Count them: tap the number under {field} and type it.", field=tr("Checked")),
                targets=(Target(name="checked-value", label=tr("Checked")),),
            )
        back = _back(tr("Counted: go back."))
        counted = [
            r for r in walk.at_station(route.station) if isinstance(r, Count) and r.check == check.id
        ]
        if nok and not any(r.nok for r in counted):
            return Step(
                part=part,
                do=tr("Any of them NOK? Tap the number under NOK and type it; else go back."),
                targets=(Target(name="nok-value", label=tr("NOK")), *back.targets),
            )
        return replace(back, part=part)

    def _photo(self, _route: Route, _state: Any) -> Step:
        return _back(tr("A picture can be taken in here; none is needed. Go back."))

    def _answer(self, route: Route, _state: Any) -> Step:
        if not route.walk or not route.station:
            return _back(tr("The answer grows with every station: go back."))
        walk = walk_facts(self._place, route.concern, route.walk)
        station = walk.stream.station(route.station)
        if station is None or _unfinished(walk, station) is not None:
            return _back(tr("This station is not finished: go back."))
        verdict = walk.facts.locate(thorough=False).stations[station.order - 1]
        self._verdicts_read.add((walk.start.id, station.id))
        return replace(
            _back(tr("Read the line of {station}, then go back.", station=station.name)),
            says=_explained(verdict),
        )

    def _parts(self, route: Route, state: Any) -> InventedParts:
        """Give what the scenario knows of the parts at a check, of the chosen parallel unit if it can."""
        known, where = self._facts.parts, (route.station, route.check)
        all_units = known.get((*where, ""), _ANY_PARTS)
        return known.get((*where, state.head.units.chosen), all_units)


_ANSWERS = ("ok", "not_ok")
_ANY_PARTS = InventedParts(checked=10, nok=1)
"""Where the scenario knows nothing of the parts."""


def _back(do: str) -> Step:
    return Step(do=do, targets=(Target(name="back", label=tr("Back")),))


def _typing(part: str, text: str, wanted: str) -> Step:
    """Give the next key of a number; whatever else was typed can be entered too."""
    rest = wanted.removeprefix(text) if wanted.startswith(text) else ""
    key = (
        Target(name=f"key-{rest[0]}", label=rest[0])
        if rest
        else Target(name="key-enter", label=tr("Enter"))
    )
    return Step(
        part=part, do=tr("Type {number}, then {key}.", number=wanted, key=tr("Enter")), targets=(key,)
    )


def _checks_for(walk: WalkFacts, station: Station) -> tuple[Check, ...]:
    """Give the checks of a station that judge parts for the defect of the concern."""
    defect = walk.facts.concern.defect
    return tuple(c for c in station.checks if c.finds == defect and c.kind in ("attribute", "count"))


def _unfinished(walk: WalkFacts, station: Station | None) -> Check | None:
    """Give the first of those checks that has fewer parts than its sample, unless it does not apply."""
    if station is None:
        return None
    for check in _checks_for(walk, station):
        progress = walk.progress(station, check.id)
        is_set_aside = isinstance(progress.latest, Answer) and bool(progress.not_applicable)
        if progress.checked < check.sample and not is_set_aside:
            return check
    return None


def _check_here(walk: WalkFacts, route: Route) -> Check | None:
    station = walk.stream.station(route.station)
    check = station.check(route.check) if station is not None else None
    return check if station is not None and check in _checks_for(walk, station) else None


def _explained(verdict: StationVerdict) -> str:
    """Say what the figure of a station says, and what it does not know."""
    if verdict.interval is None:
        return tr("Nothing was checked at {station}, so nothing is known of it.", station=verdict.station)
    low, high = verdict.interval.low, verdict.interval.high
    if not verdict.nok:
        return tr(
            "NOK at {station}: none of {checked} parts. That does not prove it clean: by the exact 95 % "
            "limits up to {high} of its parts could be called NOK.",
            station=verdict.station,
            checked=verdict.checked,
            high=share_to(high),
        )
    said = tr(
        "NOK at {station}: {nok} of {checked} parts. By the exact 95 % limits {share} of its parts would "
        "be called NOK.",
        station=verdict.station,
        nok=verdict.nok,
        checked=verdict.checked,
        share=share_range(low, high),
    )
    if verdict.order == 1:
        return f"{said} {tr('It says nothing of days and machines that nobody looked at.')}"
    return f"{said} {tr('Whether the defect starts here, only the stations before it can tell.')}"
