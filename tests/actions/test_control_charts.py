"""From counts of lots and measurements on a store to control charts: in words, as JSON and as figures."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.floors import Floor
from walkapp.actions.acting import action_facts
from walkapp.actions.action_records import open_action, say_done
from walkapp.actions.control_charts import MOST_POINTS, shares_over_time, values_over_time
from walkapp.actions.control_telling import control_lines, control_to_json
from walkapp.actions.figures.catalogue import INVENTED, NOT_ESCALATED, concern_figures
from walkapp.actions.parts import PARTS
from walkapp.analysis.control.p_chart import EXACT
from walkapp.model.records import DatedCount, Measurement

SAID = {"aim": "corrective", "what": "Soft pads", "owner": "PE-KL", "due_on": "2026-03-20"}
FIRST = date(2026, 2, 23)


@pytest.fixture
def floor(desk):
    made = Floor(desk)
    made.walk()
    desk.place.now.time += timedelta(days=200)
    return made


def count(floor, noks, first=FIRST, checked=20, **said):
    """Count a lot on each day from the first on."""
    for number, nok in enumerate(noks):
        made_on = first + timedelta(days=number)
        floor.desk.place.add(
            DatedCount, concern=floor.route.concern, walk="", station="leak-test", check="ear-look",
            lot=f"L{made_on:%m%d}", made_on=made_on.isoformat(),
            checked=checked, nok=nok, **said,
        )  # fmt: skip


def fix(floor, day):
    place = floor.desk.place
    action = open_action(place, floor.facts, **SAID).action
    now = action_facts(place, floor.route.concern, action)
    say_done(place, floor.facts, now, done_on=day, evidence="Pads measured")


def measure(floor, values, station="moulding", check="ear-wall", **more):
    for value in values:
        floor.desk.place.add(
            Measurement, concern=floor.route.concern, walk=floor.route.walk, station=station, check=check,
            value=str(value), unit_of_measure="mm", **more,
        )  # fmt: skip


WALLS = (2.50, 2.52, 2.49, 2.51, 2.50, 2.53, 2.48, 2.50, 2.51, 2.49)


def test_limits_are_those_from_before_the_fix_so_that_its_effect_shows(floor):
    count(floor, [10, 8, 9, 11, 10, 9, 12, 10, 2, 1, 2, 1])
    fix(floor, "2026-03-03")

    told = shares_over_time(floor.facts)

    assert (told.station.name, told.what, told.fixes) == ("Leak test", "lot", ("2026-03-03",))
    assert (told.chart.baseline, told.chart.nok, told.chart.checked) == (8, 79, 160)
    low = [one.points for one in told.chart.signals if one.rule == 1]
    assert low == [(8,), (9,), (10,), (11,)]
    lines = control_lines(floor.facts)
    assert lines[0] == "Over time: NOK parts at Leak test"
    assert lines[1] == "  n = 240 parts, 85 of them NOK, in 12 lots."
    assert lines[2] == (
        "  Rule 1, outside the limits, below: L0303 of 2026-03-03 (point 9 of 12), and 3 more up to point "
        "12. Something was different then."
    )
    assert any("from the first 8 of 12 points, and held for the others" in line for line in lines)


def test_parts_from_after_a_fix_that_worked_are_in_the_chart_though_not_in_the_onset(floor):
    count(floor, [10] * 6 + [0] * 6)
    fix(floor, "2026-03-03")

    assert len(shares_over_time(floor.facts).rows) == 12


def own_notes(figure):
    """What the chart says beyond what stands on every figure of the demo's stream."""
    assert figure.notes[0] == INVENTED
    return figure.notes[1:]


def test_without_a_signal_that_is_said_and_a_change_in_its_own_limits_is_told(floor):
    floor.lots()
    floor.lot(28, nok=11, lot="0228-1")

    (figure,) = concern_figures(floor.desk.place, floor.facts, "p-chart")

    assert figure.title == "NOK parts over time at Leak test: no signal, but the lots differ"
    assert own_notes(figure)[1] == "No signal by the run rules."
    assert own_notes(figure)[2].startswith(
        "The 5 points that make the limits differ more than chance lets them"
    )


def test_few_lots_are_shown_without_limits_and_the_terminal_leaves_them_out(floor):
    floor.lots()

    (figure,) = concern_figures(floor.desk.place, floor.facts, "p-chart")

    assert figure.title == "NOK parts over time at Leak test: no control limits yet"
    assert own_notes(figure) == (
        "n = 80 parts, 19 of them NOK, in 4 lots.",
        "No control limits: they need 5 points at least.",
    )
    assert (figure.panels[0].centre, figure.rules) == (None, ())
    assert control_lines(floor.facts) == ()


def test_without_a_dated_count_and_a_value_there_is_nothing(floor):
    assert control_lines(floor.facts) == ()
    assert control_to_json(floor.facts) == {"shares": None, "values": []}
    assert list(concern_figures(floor.desk.place, floor.facts, "p-chart", "value-chart")) == []


def test_days_without_a_lot_are_called_days(floor):
    for day in range(10, 16):
        floor.lot(day, nok=day % 3)

    told = shares_over_time(floor.facts)

    assert (told.what, told.chart.limits) == ("day", EXACT)
    (figure,) = concern_figures(floor.desk.place, floor.facts, "p-chart")
    assert figure.labels[0] == ("2026-02-10",)
    assert figure.x_axis == "day of production, in the order of time"


def test_the_newest_lots_are_shown_and_the_older_ones_counted(floor):
    count(floor, [number % 4 for number in range(MOST_POINTS + 3)], first=date(2025, 8, 1))

    told = shares_over_time(floor.facts)

    assert (len(told.rows), told.older) == (MOST_POINTS, 3)
    (figure,) = concern_figures(floor.desk.place, floor.facts, "p-chart")
    assert own_notes(figure)[0].endswith("3 older lots left out.")


def test_values_have_control_limits_and_a_tolerance_that_are_told_apart(floor):
    measure(floor, [*WALLS, 2.38])

    (told,) = values_over_time(floor.facts)
    (figure,) = concern_figures(floor.desk.place, floor.facts, "value-chart")

    assert told.out_of_tolerance == 1
    assert figure.name == "value-chart-moulding-ear-wall"
    assert figure.title == (
        "Wall thickness at the root of the ear, Injection moulding, one by one: signals by rule 1"
    )
    values, ranges = figure.panels
    assert (values.axis, values.unit, values.tolerance) == ("value", "mm", (2.4, 2.6))
    assert values.points[0].low > 2.4 and values.points[0].high < 2.6
    assert (ranges.axis, ranges.tolerance, ranges.floor) == ("range", (), 0.0)
    assert [row.label for row in figure.rules] == ["rule 1", "rule 1, range"]
    assert figure.rules[1].points == figure.rules[0].points == (10,)
    assert any(note.startswith("Control limits tell what the process does") for note in figure.notes)


def test_a_value_on_the_tolerance_is_inside(floor):
    measure(floor, ["2.40", "2.60", "2.399"])

    (told,) = values_over_time(floor.facts)

    assert told.out_of_tolerance == 1


def test_a_tolerance_far_away_is_said_and_not_drawn(floor):
    measure(floor, [2.5 + number % 3 * 0.0001 for number in range(10)])

    (figure,) = concern_figures(floor.desk.place, floor.facts, "value-chart")

    assert figure.panels[0].tolerance == ()
    assert "Tolerance too far outside to be drawn: 2.4 and 2.6 mm." in figure.notes


def test_units_and_repeats_in_one_chart_are_told(floor):
    measure(floor, WALLS[:5], unit="cavity 1", part="P1")
    measure(floor, WALLS[5:], unit="cavity 2")

    (told,) = values_over_time(floor.facts)
    (figure,) = concern_figures(floor.desk.place, floor.facts, "value-chart")

    assert len(told.values) == 6
    assert "The values of cavity 1 and cavity 2 lie in one chart" in own_notes(figure)[0]
    assert "1 part measured more than once: the mean counts." in own_notes(figure)[0]


def test_the_same_records_give_the_same_json_with_the_same_names(floor):
    count(floor, [10, 8, 9, 11, 10, 9, 12, 10, 2])
    measure(floor, [*WALLS, 2.7])

    said = control_to_json(floor.facts)

    assert json.loads(json.dumps(said, allow_nan=False)) == said == control_to_json(floor.facts)
    assert said["shares"]["signals"][0] == {
        "rule": 1, "name": "outside the limits", "side": "below", "points": [9],
    }  # fmt: skip
    (walls,) = said["values"]
    assert (walls["characteristic"], walls["unit_of_measure"], walls["limits_from"]) == (
        "ear-wall", "mm", 11,
    )  # fmt: skip
    assert walls["range_signals"][0]["points"] == [10]
    floor2 = control_to_json(replace_records(floor.facts))
    assert list(floor2) == list(said)


def replace_records(facts):
    """The concern as if nothing of it were known but that it was opened."""
    return replace(facts, standing=replace(facts.standing, current=()))


def test_the_summary_tells_it_and_gives_the_same_names_without_the_checklist(floor):
    (part,) = [one for one in PARTS if one.without_stream and "control_charts" in one.without_stream]

    said = part.to_json(floor.desk.place, floor.facts)

    assert list(said["control_charts"]) == list(part.without_stream["control_charts"])
    assert part.lines(floor.desk.place, floor.facts) == ()


def test_a_safety_concern_of_which_nobody_was_told_says_so_on_each_figure(floor):
    floor.lots()
    measure(floor, WALLS)
    severe = replace(floor.facts, concern=replace(floor.facts.concern, severity="safety"))

    figures = list(concern_figures(floor.desk.place, severe, "p-chart", "value-chart"))

    assert len(figures) == 2
    assert all(NOT_ESCALATED in figure.notes for figure in figures)
