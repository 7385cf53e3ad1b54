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
from walkapp.analysis.wording import AIM_WORDS, CHANGE_WORDS, percent
from walkapp.language import day_said, msg, tr, trn, whole_text
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
    ("clean", msg("ring: before it started"), msg("ring: most likely before it started")),
    (
        "bad",
        msg("cross: the first bad one, or after it started"),
        msg("cross: most likely the first bad one, or after it started"),
    ),
    (
        "undecided",
        msg("diamond: undecided, or both together"),
        msg("diamond: undecided, or both together"),
    ),
    (
        AFTER_FIX,
        msg("square: from after a corrective action that worked, not used to say when it started"),
        msg("square: from after a corrective action that worked, not used to say when it started"),
    ),
)
"""What each shape stands for, where the onset is sure and where it is not."""

_TAKEN_TOGETHER = {
    "day": msg(
        "The lots of one day are taken together here, for drawing alone, and stand at its first day."
    ),
    "week": msg(
        "The lots of one week are taken together here, for drawing alone, and stand at its first day."
    ),
    "month": msg(
        "The lots of one month are taken together here, for drawing alone, and stand at its first day."
    ),
    "year": msg(
        "The lots of one year are taken together here, for drawing alone, and stand at its first day."
    ),
    "century": msg(
        "The lots of one century are taken together here, for drawing alone, and stand at its first day."
    ),
}

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
                    _changes_left_out(len(line.changes) - len(changes), len(line.undated)),
                    *(
                        tr(
                            "{letters}: done on {done_on}: {short} ({aim}, {status}).",
                            letters=letters[one.id],
                            done_on=day_said(one.done_on),
                            short=_short(one.action.what),
                            aim=tr(AIM_WORDS[one.action.aim]),
                            status=tr(one.status),
                        )
                        for one in actions
                    ),
                    trn(
                        "{count} earlier action not drawn.",
                        "{count} earlier actions not drawn.",
                        len(done) - len(actions),
                    )
                    if len(done) > len(actions)
                    else "",
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
        if onset.is_sure:
            return tr(
                "{at}; it started on {day} or before: count parts of older lots",
                at=at,
                day=day_said(line.first_bad_day),
            )
        return tr(
            "{at}; it most likely started on {day} or before: count parts of older lots",
            at=at,
            day=day_said(line.first_bad_day),
        )
    day = day_said(line.first_bad_day)
    if onset.day_probability is not None:
        day = f"{day} ({percent(onset.day_probability)})"
    if onset.is_sure:
        return tr("{at}; the first bad day is {day}", at=at, day=day)
    return tr("{at}; the first bad day is most likely {day}", at=at, day=day)


def _n(station: str, counted: Sequence[_Counted], used: Sequence[_Counted], stretch: str) -> str:
    parts, rows = sum(one.checked for one in counted), len(counted)
    after = sum(one.checked for one in counted) - sum(one.checked for one in used)
    values = {"parts": whole_text(parts), "rows": whole_text(rows), "station": station}
    told = (
        tr(
            "n = {parts} parts of {rows} lots or days, {after} of them from after the fix, judged at "
            "{station}.",
            after=whole_text(after),
            **values,
        )
        if after
        else tr("n = {parts} parts of {rows} lots or days, judged at {station}.", **values)
    )
    limits = tr("Limits: exact, two-sided 95 % (Clopper-Pearson).")
    return " ".join((told, limits, *((tr(_TAKEN_TOGETHER[stretch]),) if stretch else ())))


def _band(line: TimeLine) -> str:
    if line.bad_from_day is None or line.probability is None:
        return ""
    values = {"bad_from_day": day_said(line.bad_from_day), "probability": percent(line.probability)}
    if line.last_good_day:
        return tr(
            "Hatched: it started after the parts of {last_good_day} were made and at the latest on "
            "{bad_from_day} ({probability}, if it started in these days at all). Thick line: the most "
            "probable first bad day.",
            last_good_day=day_said(line.last_good_day),
            **values,
        )
    return tr(
        "Hatched: it started at any time before and at the latest on {bad_from_day} ({probability}, if it "
        "started in these days at all). Thick line: the most probable first bad day.",
        **values,
    )


def _shapes(found: DatedOnset, states: set[str]) -> str:
    is_sure = found.onset is not None and found.onset.is_sure
    words = (tr(sure if is_sure else likely) for state, sure, likely in _SHAPES if state in states)
    return tr("Shapes: {shapes}.", shapes="; ".join(words))


def _change(found: DatedOnset, place: int) -> str:
    suspect = found.ranking.suspects[place]
    point, station = found.changes[suspect.change.id][0], found.stations[suspect.change.id]
    return tr(
        "{place}: {changed_on} {change} at {station}: {short} (suspect with {probability}).",
        place=place + 1,
        changed_on=day_said(point.changed_on),
        change=tr(CHANGE_WORDS[point.change]),
        station=station.name,
        short=_short(point.what),
        probability=percent(suspect.probability),
    )


def _short(text: str) -> str:
    return shorten(text, MOST_OF_A_NAME, placeholder=" ...").rstrip(".")


def _changes_left_out(many: int, undated: int) -> str:
    if not many:
        return ""
    if not undated:
        return trn("{count} recorded change not drawn.", "{count} recorded changes not drawn.", many)
    return trn(
        "{count} recorded change not drawn; the day of {undated} is not known.",
        "{count} recorded changes not drawn; the day of {undated} is not known.",
        many,
        undated=undated,
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
