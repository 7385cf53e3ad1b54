"""The figure of the defects over time: when it started, what was changed, and what was done."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from textwrap import shorten

from walkapp.actions import days
from walkapp.actions.acting import ActionFacts, actions_of
from walkapp.actions.onset import AFTER, BEFORE, FIRST, DatedOnset, date_onset
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.time_line import TimeLine, time_line
from walkapp.actions.workplace import Workplace
from walkapp.analysis.gather_dated import gather_dated
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.wording import percent
from walkapp.language import msg, tr, trn, whole_text
from walkapp.model.checklist import Station
from walkapp.paper.figures.onset import AFTER_FIX, DatedPoint, DayMark, OnsetFigure

MOST_POINTS = 60
"""Points that are drawn; of more lots those of a day, a week, a month or a year are taken together."""

MOST_CHANGES, MOST_ACTIONS = 9, 6
"""Marks that are drawn and named: the most suspect changes, and the last actions."""

MOST_OF_A_NAME = 60
"""Characters of what changed or was done that are shown."""

STATES = {BEFORE: "clean", FIRST: "bad", AFTER: "bad"}
"""Shape of what is thought of a row; everything else is undecided."""

_SHAPES = (
    ("clean", msg("ring: {}before it started")),
    ("bad", msg("cross: {}the first bad one, or after it started")),
    ("undecided", msg("diamond: undecided, or both together")),
    (AFTER_FIX, msg("square: from after a corrective action that worked, not used to say when it started")),
)

_STRETCHES: tuple[tuple[str, Callable[[date], date]], ...] = (
    ("day", lambda day: day),
    ("week", lambda day: day - timedelta(days=min(day.weekday(), day.toordinal() - 1))),
    ("month", lambda day: day.replace(day=1)),
    ("year", lambda day: day.replace(month=1, day=1)),
    ("century", lambda day: day.replace(year=max(1, day.year // 100 * 100), month=1, day=1)),
)


@dataclass(frozen=True, slots=True)
class _Counted:
    """What was counted of one lot, or of several that are taken together."""

    day: str
    checked: int
    nok: int
    state: str


def of_concern(place: Workplace, facts: ConcernFacts) -> tuple[OnsetFigure, ...]:
    """Give the figure of a concern; none where no part of a known production day was counted."""
    found = date_onset(facts)
    if found.station is None:
        return ()
    counted = (*_of_onset(found), *_after_fix(facts, found.station))
    done = [one for one in actions_of(facts, days.today(place)) if one.done_on]
    in_time = sorted(done, key=lambda one: (one.done_on, one.id))
    return (_figure(found, found.station.name, counted, in_time),)


def _of_onset(found: DatedOnset) -> Iterator[_Counted]:
    for place, row in enumerate(found.onset.rows if found.onset else ()):
        state = STATES.get(found.verdict(place), "undecided")
        yield _Counted(row.day, row.checked, row.nok, state)


def _after_fix(facts: ConcernFacts, station: Station) -> Iterator[_Counted]:
    if not facts.after_fix:
        return
    rows = gather_dated(facts.known_stream(), station, facts.after_fix, facts.concern.defect).rows
    for row in rows:
        checked = sum(tally.checked for tally in row.tallies)
        yield _Counted(row.day, checked, sum(tally.nok for tally in row.tallies), AFTER_FIX)


def _figure(
    found: DatedOnset, station: str, counted: Sequence[_Counted], done: Sequence[ActionFacts]
) -> OnsetFigure:
    line = time_line(found)
    shown, stretch = _together(sorted(counted, key=lambda one: one.day))
    changes = [change for change in line.changes if change.day][:MOST_CHANGES]
    actions = done[-MOST_ACTIONS:]
    letters = dict(zip((one.id for one in actions), "ABCDEFGHIJ", strict=False))
    marks = [DayMark(sign=str(c.number), day=c.day) for c in changes]
    marks += [DayMark(sign=letters[one.id], day=one.done_on, is_action=True) for one in actions]
    used = [one for one in counted if one.state != AFTER_FIX]
    return OnsetFigure(
        title=_title(found, station, line),
        notes=tuple(
            filter(
                None,
                (
                    _n(station, counted, used, stretch),
                    _band(line),
                    _shapes(found, {one.state for one in shown}),
                    *(_change(found, change.number - 1) for change in changes),
                    _left_out(len(line.changes) - len(changes), tr("recorded change"), len(line.undated)),
                    *(
                        tr(
                            "{letters}: done on {done_on}: {short} ({aim}, {status}).",
                            letters=letters[one.id],
                            done_on=one.done_on,
                            short=_short(one.action.what),
                            aim=one.action.aim,
                            status=one.status,
                        )
                        for one in actions
                    ),
                    _left_out(len(done) - len(actions), tr("earlier action")),
                ),
            )
        ),
        points=tuple(map(_point, shown)),
        band=(line.last_good_day or "", line.bad_from_day) if line.bad_from_day else None,
        first_bad=line.first_bad_day or "",
        marks=tuple(sorted(marks, key=lambda mark: (mark.day, mark.is_action, len(mark.sign), mark.sign))),
    )


def _title(found: DatedOnset, station: str, line: TimeLine) -> str:
    at = tr("NOK at {station} by production day", station=station)
    onset = found.onset
    if onset is None or line.first_bad_day is None:
        return tr("{at}; no first bad day is named yet", at=at)
    if onset.first_bad == 0:
        # The first row stands for every day before it as well.
        likely = tr("it started") if onset.is_sure else tr("it most likely started")
        return tr(
            "{at}; {likely} on {first_bad_day} or before: count parts of older lots",
            at=at,
            likely=likely,
            first_bad_day=line.first_bad_day,
        )
    sure = tr("the first bad day is") if onset.is_sure else tr("the first bad day is most likely")
    chance = f" ({percent(onset.day_probability)})" if onset.day_probability is not None else ""
    return f"{at}; {sure} {line.first_bad_day}{chance}"


def _n(station: str, counted: Sequence[_Counted], used: Sequence[_Counted], stretch: str) -> str:
    parts, rows = sum(one.checked for one in counted), len(counted)
    after = sum(one.checked for one in counted) - sum(one.checked for one in used)
    fixed = tr(", {after} of them from after the fix", after=whole_text(after)) if after else ""
    taken = ""
    if stretch:
        taken = tr(
            " The lots of one {stretch} are taken together here, for drawing alone, and "
            "stand at its first day.",
            stretch=stretch,
        )
    return tr(
        "n = {parts} parts of {rows} lots or days{fixed}, judged at {station}. Limits: "
        "exact, two-sided 95 % (Clopper-Pearson).{taken}",
        parts=whole_text(parts),
        rows=whole_text(rows),
        fixed=fixed,
        station=station,
        taken=taken,
    )


def _band(line: TimeLine) -> str:
    if line.bad_from_day is None or line.probability is None:
        return ""
    after = (
        tr("after the parts of {last_good_day} were made", last_good_day=line.last_good_day)
        if line.last_good_day
        else tr("at any time before")
    )
    return tr(
        "Hatched: it started {after} and at the latest on {bad_from_day} ({probability}, if "
        "it started in these days at all). Thick line: the most probable first bad day.",
        after=after,
        bad_from_day=line.bad_from_day,
        probability=percent(line.probability),
    )


def _shapes(found: DatedOnset, states: set[str]) -> str:
    likely = "" if found.onset is not None and found.onset.is_sure else tr("most likely ")
    words = "; ".join(word.format(likely) for state, word in _SHAPES if state in states)
    return f"{words[0].upper()}{words[1:]}."


def _change(found: DatedOnset, place: int) -> str:
    suspect = found.ranking.suspects[place]
    point, station = found.changes[suspect.change.id][0], found.stations[suspect.change.id]
    return tr(
        "{place}: {changed_on} {change} at {station}: {short} (suspect with {probability}).",
        place=place + 1,
        changed_on=point.changed_on,
        change=point.change,
        station=station.name,
        short=_short(point.what),
        probability=percent(suspect.probability),
    )


def _short(text: str) -> str:
    return shorten(text, MOST_OF_A_NAME, placeholder=" ...").rstrip(".")


def _left_out(many: int, what: str, undated: int = 0) -> str:
    if not many:
        return ""
    why = tr("; the day of {undated} is not known", undated=undated) if undated else ""
    return trn(
        "{count} {what} not drawn{why}.", "{count} {what}s not drawn{why}.", many, what=what, why=why
    )


def _together(counted: Sequence[_Counted]) -> tuple[Sequence[_Counted], str]:
    """Take the lots of a stretch of days together where there are too many to be drawn."""
    if len(counted) <= MOST_POINTS:
        return counted, ""
    taken = ((word, _by_stretch(counted, begin)) for word, begin in _STRETCHES)
    word, shown = next(found for found in taken if len(found[1]) <= MOST_POINTS or found[0] == "century")
    return shown, word


def _by_stretch(counted: Iterable[_Counted], begin: Callable[[date], date]) -> list[_Counted]:
    groups: dict[tuple[str, bool], list[_Counted]] = {}
    for one in counted:
        begins = begin(date.fromisoformat(one.day)).isoformat()
        groups.setdefault((begins, one.state == AFTER_FIX), []).append(one)
    return [_sum(begins, groups[begins, is_after]) for begins, is_after in sorted(groups)]


def _sum(begins: str, same: Sequence[_Counted]) -> _Counted:
    states = {one.state for one in same}
    return _Counted(
        begins,
        sum(one.checked for one in same),
        sum(one.nok for one in same),
        states.pop() if len(states) == 1 else "undecided",
    )


def _point(one: _Counted) -> DatedPoint:
    interval = proportion_interval(one.nok, one.checked)
    return DatedPoint(
        day=one.day, share=one.nok / one.checked, low=interval.low, high=interval.high, state=one.state
    )
