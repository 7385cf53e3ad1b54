"""Streams with audits for tests: few words for what matters, and schemes made up by hypothesis."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from walkapp.analysis.audits.calendar import AuditSlot
from walkapp.analysis.audits.plan import AuditPlan
from walkapp.model.auditing import AuditLayer, AuditQuestion, AuditScheme, WorkCalendar
from walkapp.model.checklist import Defect, Shift, Station, Stream

BEGINS = date(2026, 1, 5)
"""A Monday."""

EARLY = Shift(name="early", begins="06:00", ends="14:00")
LATE = Shift(name="late", begins="14:00", ends="22:00")
NIGHT = Shift(name="night", begins="22:00", ends="06:00")


def calendar(**more: Any) -> WorkCalendar:
    said: dict[str, Any] = {
        "begins": BEGINS,
        "time_zone": "Europe/Berlin",
        "working_days": frozenset(range(1, 6)),
    }
    return WorkCalendar(**{**said, **more})


def layer(every: str = "day", **more: Any) -> AuditLayer:
    return AuditLayer(**{"id": every, "name": every.capitalize(), "every": every, **more})


def question(station: str, name: str, **more: Any) -> AuditQuestion:
    return AuditQuestion(station=station, id=name, ask=f"{name}?", **more)


def stream_of(
    questions, layers=None, *, shifts=(EARLY, LATE, NIGHT), on=None, stations=(), **more: Any
) -> Stream:
    """Make a stream whose stations are those of the questions, in order of their names."""
    names = sorted({q.station for q in questions} | set(stations))
    return Stream(
        id="line",
        name="Line",
        product="Part",
        version="1",
        cautions=(),
        defects=(Defect(id="crack", name="Crack"),),
        stations=tuple(
            Station(order=place, id=name, name=name.upper(), short=name, kind="test")
            for place, name in enumerate(names, start=1)
        ),
        shifts=tuple(shifts),
        audits=AuditScheme(
            calendar=on or calendar(),
            layers=tuple(layers or [layer()]),
            questions=tuple(questions),
            **more,
        ),
    )


def with_scheme(stream: Stream, **more: Any) -> Stream:
    assert stream.audits is not None
    return replace(stream, audits=replace(stream.audits, **more))


def slots_of(plan: AuditPlan, one: AuditLayer, days: int = 120) -> list[AuditSlot]:
    begins = plan.scheme.calendar.begins
    return list(plan.calendar.slots(one, begins, begins + timedelta(days=days)))


def told(plan: AuditPlan, slot: AuditSlot) -> tuple[Any, ...]:
    """What an audit asks, as plain values."""
    return tuple((v.station.id, tuple(q.id for q in v.questions)) for v in plan.visits(slot))


days_of_change = st.integers(0, 90).map(lambda days: BEGINS + timedelta(days=days))


@st.composite
def some_questions(draw, *, dated: bool) -> list[AuditQuestion]:
    found = []
    for number in range(draw(st.integers(1, 12))):
        since = draw(st.none() | days_of_change) if dated else None
        until = draw(st.none() | st.none() | days_of_change) if dated else None
        if since and until and until < since:
            since, until = until, since
        found.append(
            question(
                f"s{draw(st.integers(1, 5))}",
                f"q{number}",
                often=draw(st.sampled_from((1, 1, 2, 4))),
                layers=draw(st.sampled_from(((), (), ("shift", "day"), ("week",)))),
                since=since,
                until=until,
            )
        )
    return found


@st.composite
def some_streams(draw, *, dated: bool = True) -> Stream:
    """A stream with up to four layers and twelve questions; dated: lists change in the first 90 days."""
    questions = draw(some_questions(dated=dated))
    everies = draw(st.lists(st.sampled_from(("shift", "day", "week", "month")), min_size=1, unique=True))
    layers = [
        layer(every, stations=draw(st.integers(1, 4)), questions=draw(st.integers(1, 4)))
        for every in everies
    ]
    often = {q.station: draw(st.sampled_from((1, 1, 2, 4))) for q in questions}
    holidays = frozenset(draw(st.lists(days_of_change, max_size=4)))
    extra = frozenset(draw(st.lists(days_of_change, max_size=2))) - holidays
    on = calendar(
        begins=BEGINS + timedelta(days=draw(st.integers(0, 6))), holidays=holidays, extra_days=extra
    )
    return stream_of(questions, layers, on=on, station_often=tuple(sorted(often.items())))
