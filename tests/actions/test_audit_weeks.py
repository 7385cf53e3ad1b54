"""The audits of a stream week by week: counted by hand, by layer and shift, never by person."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest

from tests.auditors import Auditor, checklists_of_2020
from tests.fakes import Desk
from walkapp.actions.audit_weeks import audit_weeks
from walkapp.actions.desk import desk_facts
from walkapp.actions.figures.audits import MOST_ROWS, completion, completion_figures, conformity, p_chart
from walkapp.actions.figures.catalogue import OF_A_STREAM, stream_figures

NOON = datetime(2026, 3, 13, 12, 0, tzinfo=timezone(timedelta(hours=1)))
"""A Friday."""

STREAM = "washer-reservoir"
PERSON = "SL-QX"


@pytest.fixture(scope="module")
def friday(tmp_path_factory):
    """Six weeks in which the supervisor audits every Monday and Tuesday, and little else is done."""
    desk = Desk(tmp_path_factory.mktemp("weeks"), starts=NOON)
    with desk.store:
        auditor = Auditor(desk)
        for week, nok in enumerate((0, 1, 0, 2, 0, 1)):
            monday = NOON - timedelta(days=4 + 7 * week)
            for day in (monday, monday + timedelta(days=1)):
                slot = auditor.slot("supervisor", day.date().isoformat())
                refs = [f"{station}/{question}" for station, question, _ in auditor.asked(slot)]
                auditor.audit(slot, nok=refs[:nok], by=PERSON)
        auditor.audit(auditor.slot("shift-lead", "2026-03-10", "early"), by=PERSON)
        yield desk


def told_of(desk):
    return audit_weeks(desk.place, desk_facts(desk.place, STREAM))


def figures_of(desk, make):
    return make(desk.place, desk_facts(desk.place, STREAM))


def test_the_plan_is_counted_by_layer_and_week(friday):
    told = told_of(friday)

    layers = dict(told.layers)
    assert list(layers) == ["Shift lead", "Supervisor", "Department manager", "Plant manager"]
    supervisor = layers["Supervisor"]
    assert [(supervisor[w].in_time, supervisor[w].due) for w in told.weeks[-6:]] == [
        (2, 5), (2, 5), (2, 5), (2, 5), (2, 5), (2, 5),
    ]  # fmt: skip
    assert layers["Shift lead"]["2026-W11"].in_time == 1


def test_the_shifts_are_counted_apart_for_layers_that_audit_them(friday):
    told = told_of(friday)

    shifts = dict(told.shifts)
    assert list(shifts) == ["early", "late", "night"]
    assert [shifts[name]["2026-W11"].in_time for name in shifts] == [1, 0, 0]


def test_weeks_have_no_gap_and_end_with_this_one(friday):
    weeks = told_of(friday).weeks

    # The audit of the month ends on 31 March and runs: it is counted in this week.
    assert weeks[-1] == "2026-W11"
    assert weeks[0] == "2026-W05"
    assert len(weeks) == 7


def test_answers_are_counted_in_the_week_of_the_audit(friday):
    told = told_of(friday)

    noks = [told.answers[week].nok for week in told.weeks if week in told.answers]
    assert noks == [2, 0, 4, 0, 2, 0]
    by_layer = dict(told.answers_by_layer)
    assert list(by_layer) == ["Shift lead", "Supervisor"]
    assert sum(week.judged for week in by_layer["Supervisor"].values()) + sum(
        week.judged for week in by_layer["Shift lead"].values()
    ) == sum(week.judged for week in told.answers.values())


def test_the_figure_of_completion_is_a_census_and_says_so(friday):
    by_layer, by_shift = figures_of(friday, completion)

    told = told_of(friday)
    counted = [one for _, weeks in told.layers for one in weeks.values()]
    assert by_layer.title == (
        f"Washer-fluid reservoir: audits by layer, 13 of {sum(one.over for one in counted)} done in time"
    )
    assert by_layer.notes[0].startswith(f"n = {sum(one.due for one in counted)} audits due, 2025-09-13 to")
    assert any("so there is no interval" in note for note in by_layer.notes)
    supervisor = by_layer.rows[1]
    assert (supervisor.name, supervisor.weeks[-1], supervisor.shares[-1]) == (
        "Supervisor", (2, 0, 0, 2, 0, 1), "2/4",
    )  # fmt: skip
    assert (by_shift.name, [row.name for row in by_shift.rows]) == (
        "audit-completion-by-shift", ["early", "late", "night"],
    )  # fmt: skip


def test_the_figure_of_conformity_has_exact_limits_for_all_and_for_each_layer(friday):
    (figure,) = figures_of(friday, conformity)

    assert [name for name, _ in figure.rows] == ["All audits", "Shift lead", "Supervisor"]
    told = told_of(friday)
    last = figure.rows[0][1][-1]
    assert (last.share, last.answers) == (1.0, told.answers["2026-W11"].judged)
    assert last.low == told.answers["2026-W11"].interval.low
    assert figure.rows[1][1][0].share is None
    assert "(Clopper-Pearson)" in figure.notes[1]


def test_the_p_chart_of_nok_answers_tells_its_limits(friday):
    (figure,) = figures_of(friday, p_chart)

    assert figure.labels[-1] == ("W11", "2026")
    assert figure.notes[0].endswith("8 of them NOK, in 6 weeks with answers.")
    assert any("fewer than 5 NOK or OK are expected at a point" in note for note in figure.notes)
    assert figure.panels[0].centre == pytest.approx(
        100 * 8 / sum(week.judged for week in told_of(friday).answers.values())
    )


def test_nothing_of_it_names_a_person(friday):
    facts = desk_facts(friday.place, STREAM)
    audits = [kind for kind in OF_A_STREAM if kind.startswith("audit-")]

    assert len(audits) == 3
    for figure in stream_figures(friday.place, facts, *audits):
        assert PERSON not in repr(figure)


def test_a_stream_without_audits_has_no_such_figure(tmp_path):
    folder = checklists_of_2020(tmp_path / "checklists", has_audits=False)
    desk = Desk(tmp_path / "desk")
    with desk.store:
        place = replace(desk.place, checklists=folder)
        facts = desk_facts(place, STREAM)
        audits = [kind for kind in OF_A_STREAM if kind.startswith("audit-")]
        assert list(stream_figures(place, facts, *audits)) == []


def test_more_layers_than_have_room_are_counted_and_said(friday):
    told = told_of(friday)
    (_, weeks), *_ = told.layers

    by_layer, _ = completion_figures(
        replace(told, layers=tuple((f"Layer {n}", weeks) for n in range(MOST_ROWS + 2)))
    )

    assert len(by_layer.rows) == MOST_ROWS
    assert by_layer.notes[0].endswith("2 more layers counted and not drawn.")
