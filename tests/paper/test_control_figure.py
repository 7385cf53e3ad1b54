"""Control charts and audits by week, drawn: nothing is cut off or lies over something else."""

from __future__ import annotations

import io
import random
from dataclasses import replace

import pytest
from PIL import Image

from tests.paper.figure_faults import SIZES, drawn, faults_of, text_faults
from walkapp.actions.figures.control import rule_rows, share_panel
from walkapp.analysis.control.p_chart import proportion_chart
from walkapp.paper.figures import (
    CompletionFigure,
    CompletionRow,
    ConformityFigure,
    ConformityPoint,
    ControlFigure,
    ControlPanel,
    ControlPoint,
    RuleRow,
    as_pdf,
    as_png,
    as_svg,
)
from walkapp.paper.figures.weeks import OUTCOME_STYLES

NOTES = (
    "n = 1,000 parts, 120 of them NOK, in 30 lots.",
    (
        "Rule 4, 8 or more on one side, above: L12 to L21 (points 12 to 21 of 30). Something changed at "
        "about the first of them. A signal is a reason to go and see, no proof."
    ),
    "Control limits: three sigma by the number judged at each point, cut off at 0 %; from all 30 points.",
)
LONG = "Wärmebehandlung $x^2$ <script> " + "W" * 4000


def p_figure(counts, label="L{}", **said):
    chart = proportion_chart(counts, random.Random(1))
    told = {
        "title": "NOK parts over time at Leak test: 2 signals",
        "notes": NOTES,
        "name": "p-chart",
        "labels": tuple((label.format(number), "2026-02-26") for number in range(len(counts))),
        "x_axis": "lot of production, in the order of time",
        "panels": (share_panel(chart),),
        "rules": rule_rows(chart.signals),
    }
    return ControlFigure(**{**told, **said})


def value_figure(values, unit="mm", tolerance=(2.4, 2.6), **said):
    points = tuple(ControlPoint(value=value, low=2.45, high=2.55) for value in values)
    ranges = tuple(ControlPoint(value=abs(value - 2.5), high=0.06) for value in values[1:])
    panels = [ControlPanel(axis="value", unit=unit, points=points, centre=2.5, tolerance=tolerance)]
    if ranges:
        panels.append(ControlPanel(axis="range", unit=unit, points=ranges, centre=0.02, floor=0.0))
    told = {
        "title": "Wall thickness, Moulding, one by one: 1 signal",
        "notes": NOTES,
        "name": "value-chart",
        "labels": tuple((f"no. {number}", "2026-03-03") for number in range(1, len(values) + 1)),
        "x_axis": "part and its day, in the order of time",
        "panels": tuple(panels),
        "rules": (
            RuleRow(label="rule 1", rule=1, points=(len(values) - 1,)),
            RuleRow(label="rule 1, range", rule=1, points=(len(values) - 1,)),
            RuleRow(label="rule 7", rule=7, points=tuple(range(len(values)))),
        ),
        "marks": (len(values) / 2,),
        "mark_words": "corrective action done: 2026-03-05, 2026-03-06, 2026-03-07, 12 more days",
    }
    return ControlFigure(**{**told, **said})


UNEQUAL = [(number * 7 % 13, 20 + number * 17 % 90) for number in range(30)]


def test_no_text_of_a_p_chart_is_cut_off_or_lies_over_another():
    figures = {
        "1": p_figure([(3, 20)]),
        "2": p_figure([(3, 20), (0, 20)]),
        "200": p_figure([(number * 7 % 9, 40) for number in range(200)]),
        "equal": p_figure([(5, 50)] * 25),
        "all OK": p_figure([(0, 50)] * 25),
        "all NOK": p_figure([(50, 50)] * 25),
        "unequal": p_figure(UNEQUAL),
        "long lots": p_figure(UNEQUAL, label=LONG),
        "few of millions": p_figure([(1, 3_000_000), (2, 2_000_000)] * 10),
    }

    assert faults_of(figures) == []


def test_no_text_of_a_chart_of_values_is_cut_off_or_lies_over_another():
    figures = {
        "1": value_figure([2.51]),
        "2": value_figure([2.51, 2.49]),
        "200": value_figure([2.5 + number * 7 % 11 / 100 for number in range(200)]),
        "equal": value_figure([2.5] * 30),
        "long unit": value_figure([2.5] * 10, unit="W" * 20),
        "large": value_figure([123456789012.123456789, -123456789012.5, 0.0], tolerance=()),
        "small": value_figure([0.000000001, 0.000000002, 0.000000003], tolerance=()),
    }

    assert faults_of(figures) == []


def weeks(many):
    return tuple((f"W{1 + week % 52:02d}", str(2026 + week // 52)) for week in range(many))


def completion(many, layers, name="Shift lead {}"):
    counts = [tuple((week + place) % 4 for place in range(6)) for week in range(many)]
    return CompletionFigure(
        title="Washer-fluid reservoir: audits by layer, 103 of 111 done in time",
        notes=NOTES,
        name="audit-completion",
        labels=weeks(many),
        rows=tuple(
            CompletionRow(name=name.format(layer), weeks=tuple(counts), shares=("10/15",) * many)
            for layer in range(layers)
        ),
    )


def conformity(many, layers, name="Shift lead {}"):
    points = [
        ConformityPoint(share=0.9, low=0.1 + week % 5 / 10, high=0.98, answers=20) for week in range(many)
    ]
    points[many // 2] = ConformityPoint(share=None, low=None, high=None, answers=0)
    return ConformityFigure(
        title="Washer-fluid reservoir: conformity by week, 689 of 716 answers OK",
        notes=NOTES,
        name="audit-conformity",
        labels=weeks(many),
        rows=tuple((name.format(layer), tuple(points)) for layer in range(layers)),
    )


@pytest.mark.parametrize("make", [completion, conformity])
def test_no_text_of_audits_by_week_is_cut_off_or_lies_over_another(make):
    figures = {f"{many}, {layers}": make(many, layers) for many, layers in ((1, 1), (2, 2), (60, 3))}

    assert faults_of({**figures, "long names": make(8, 3, name=LONG)}) == []


def test_the_large_pictures_have_no_fault_either():
    figures = {
        "p": p_figure(UNEQUAL),
        "values": value_figure([2.51] * 9),
        "completion": completion(27, 5),
        "conformity": conformity(27, 5),
    }

    assert faults_of(figures, SIZES[0]) == []


@pytest.mark.parametrize("make", [completion, conformity])
def test_rows_that_have_no_room_are_said_to_be_on_a_larger_picture(make):
    large, small = (drawn(make(8, 5), size).text for size in SIZES)

    assert "drawn larger" not in large
    assert "; drawn larger it has" in " ".join(small.split())


def test_weeks_without_any_audit_and_without_any_answer_are_drawn_empty():
    empty = ConformityPoint(share=None, low=None, high=None, answers=0)
    figure = ConformityFigure(
        title="Conformity", notes=("n = 0",), name="audit-conformity", labels=weeks(3),
        rows=(("All audits", (empty,) * 3),),
    )  # fmt: skip
    none = CompletionRow(name="Shift lead", weeks=((0,) * len(OUTCOME_STYLES),) * 3, shares=("",) * 3)
    bars = CompletionFigure(title="Audits", notes=("n = 0",), name="c", labels=weeks(3), rows=(none,))

    assert faults_of({"conformity": figure, "completion": bars}) == []


def test_the_longer_the_notes_the_less_is_drawn_and_nothing_lies_over_another():
    values = [2.5 + number * 7 % 11 / 100 for number in range(30)]
    figures = {str(lines): value_figure(values, notes=("note",) * lines) for lines in (0, 4, 7, 12, 15)}

    assert faults_of(figures) == []
    few, many = (" ".join(drawn(figures[lines], SIZES[1]).text.split()) for lines in ("0", "12"))
    assert "range (mm)" in few and "rule 7" in few and "larger picture" not in few
    assert "range (mm)" not in many and "the ranges need a larger picture" in many


# ---------------------------------------------------------------------------------- what it says


def test_signals_are_told_by_the_number_of_their_rule_and_lines_by_the_key():
    text = drawn(value_figure([2.5, 2.52, 2.7])).text

    for words in (
        "rule 1", "rule 1, range", "rule 7", "centre line", "control limits", "tolerance",
        "corrective action done: 2026-03-05", "value (mm)", "range (mm)", "no. 1", "2026-03-03",
    ):  # fmt: skip
        assert words in text, words


def test_what_is_not_there_is_not_in_the_key():
    text = drawn(p_figure([(3, 20), (0, 20)])).text

    for words in ("control limits\n", "centre line", "tolerance", "rule", "outside the control limits"):
        assert words not in text.replace("\r", "").partition("Rule 4")[0], words


def test_dollar_signs_of_a_unit_stay_as_they_are():
    assert "value ($x^2$)" in drawn(value_figure([2.5, 2.51], unit="$x^2$")).text


def test_outside_and_pattern_differ_by_shape_and_are_seen_in_grey():
    """A cross for outside and a diamond for a pattern cover other dots where all else is the same."""

    def grey(rules):
        points = tuple(ControlPoint(value=2.5, low=2.4, high=2.6, rules=rules) for _ in range(3))
        figure = ControlFigure(
            title="t", notes=(), name="n", labels=(("a",),) * 3, x_axis="x",
            panels=(ControlPanel(axis="value", unit="mm", points=points, centre=2.5),),
        )  # fmt: skip
        picture = Image.open(io.BytesIO(as_png(figure, width=560, height=400))).convert("L")
        return picture.point(lambda value: 255 if value > 128 else 0)

    ring, cross, diamond = grey(frozenset()), grey(frozenset({1})), grey(frozenset({4}))
    assert ring.tobytes() != cross.tobytes() != diamond.tobytes() != ring.tobytes()


def test_the_same_figure_gives_the_same_bytes_in_each_form():
    figure = p_figure(UNEQUAL)

    assert as_pdf(figure, width=420, height=300) == as_pdf(figure, width=420, height=300)
    assert as_png(figure, width=560, height=400) == as_png(figure, width=560, height=400)
    assert "<script" not in as_svg(p_figure(UNEQUAL, title="<script>"), width=420, height=300)


def test_the_check_finds_a_text_that_runs_off_the_page():
    seen = drawn(p_figure([(3, 20)]), SIZES[1])
    over = (seen.size[0] - 1.0, 10.0, seen.size[0] + 5.0, 20.0)

    assert text_faults(replace(seen, lines=(("x", over),), bases=(10.0,)))
