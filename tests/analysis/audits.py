"""Audits for the tests of the figures on them: made up of what matters, and strategies of any. Invented."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import count

from hypothesis import strategies as st

from walkapp.analysis.audits.completion import OUTCOMES, DueAudit
from walkapp.analysis.audits.facts import AuditDone, Given
from walkapp.analysis.audits.findings import FindingSeen

DAY = date(2026, 3, 9)
"""A Monday."""

STATIONS = ("moulding", "leak-test", "packing")
LAYERS = ("shift-lead", "supervisor")
WORDS = ("ok", "not_ok", "not_applicable")

_numbers = count(1)


def due(outcome="in_time", *, is_over=None, last_on=DAY, stations=("moulding",), visited=None, **more):
    """Make an audit of the plan; one that is done visited what it should."""
    is_done = outcome in ("in_time", "late", "made_up")
    said = {"layer": "shift-lead", "shift": "early", **more}
    return DueAudit(
        last_on=last_on,
        outcome=outcome,
        is_over=outcome != "open" if is_over is None else is_over,
        stations=tuple(stations),
        visited=frozenset(stations if is_done else ()) if visited is None else frozenset(visited),
        **said,
    )


def given_to(ref, answer="ok", *, asked="As it should be?", at=None, reason=""):
    """Make an answer."""
    return Given(
        id=f"answer-{next(_numbers)}",
        station=ref.partition("/")[0],
        ref=ref,
        asked=asked,
        answer=answer,
        reason=reason,
        at=at or datetime(2026, 3, 9, 7, 0, tzinfo=UTC),
        seconds=30.0,
        expected=30.0,
    )


def done(*given, day=DAY, layer="shift-lead", shift="early", is_signed=True, **more):
    """Make an audit that was begun."""
    begun = datetime(2026, 3, 9, 6, 50, tzinfo=UTC)
    said = {"id": f"audit-{next(_numbers)}", "by": "SL-AB", "is_paper": False, "unanswered": 0, **more}
    return AuditDone(
        layer=layer,
        day=day,
        shift=shift,
        begun=begun,
        signed=begun + timedelta(minutes=9) if is_signed else None,
        given=tuple(given),
        **said,
    )


def finding(on=0, ref="moulding/blade", *, reaction="corrected", is_open=None, **more):
    """Make a finding of so many days after the Monday; corrected on the spot unless said otherwise."""
    number = next(_numbers)
    said = {"id": f"finding-{number:06d}", "audit": f"audit-{number:06d}", "is_overdue": False, **more}
    return FindingSeen(
        layer="shift-lead",
        shift="early",
        station=ref.partition("/")[0],
        ref=ref,
        asked="As it should be?",
        found_on=DAY + timedelta(days=on),
        reaction=reaction,
        is_open=reaction != "corrected" if is_open is None else is_open,
        **said,
    )


@st.composite
def due_audits(draw):
    """Any audits of the plan, as the gathering may give them."""

    def one():
        outcome = draw(st.sampled_from(OUTCOMES))
        stations = draw(st.lists(st.sampled_from(STATIONS), unique=True, max_size=3))
        return due(
            outcome,
            layer=draw(st.sampled_from((*LAYERS, "gone"))),
            shift=draw(st.sampled_from(("", "early", "late", "night"))),
            last_on=draw(st.dates()),
            is_over=draw(st.booleans()) if outcome in ("in_time", "open") else True,
            stations=stations,
            visited=draw(st.lists(st.sampled_from(STATIONS), max_size=3)),
            has_reason=draw(st.booleans()),
            is_paper=draw(st.booleans()),
        )

    return [one() for _ in range(draw(st.integers(0, 12)))]


@st.composite
def done_audits(draw):
    """Any audits with answers."""
    audits = []
    for _ in range(draw(st.integers(0, 8))):
        refs = st.sampled_from([f"{station}/{q}" for station in STATIONS for q in ("blade", "guard")])
        answers = st.lists(st.tuples(refs, st.sampled_from(WORDS)), max_size=6)
        audits.append(
            done(
                *(given_to(ref, word) for ref, word in draw(answers)),
                day=draw(st.dates()),
                layer=draw(st.sampled_from((*LAYERS, "gone"))),
                is_signed=draw(st.booleans()),
            )
        )
    return audits


@st.composite
def findings(draw):
    """Any findings over two months."""
    words = st.sampled_from(("corrected", "contained", "escalated", ""))
    refs = st.sampled_from(("moulding/blade", "packing/label"))
    found = []
    for _ in range(draw(st.integers(0, 12))):
        reaction = draw(words)
        is_open = reaction != "corrected" and draw(st.booleans())
        said = {"reaction": reaction, "is_open": is_open, "is_overdue": is_open and draw(st.booleans())}
        found.append(finding(draw(st.integers(0, 60)), draw(refs), **said))
    return found
