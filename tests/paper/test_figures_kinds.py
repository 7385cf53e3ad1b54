"""Each kind of figure, drawn from invented numbers: nothing cut off, nothing over another, all said."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from tests.paper.figures import faults_on_paper, ink_at_the_border, picture_of, words_on_paper
from walkapp.language import ENGLISH, use
from walkapp.languages import load
from walkapp.paper.figures.ageing import AgeingFigure, AgeingRow
from walkapp.paper.figures.measured import MeasuredFigure, MeasuredRow
from walkapp.paper.figures.onset import DatedPoint, DayMark, OnsetFigure
from walkapp.paper.figures.pareto import ParetoFigure, ParetoRow

LONG = "a name that is much longer than any page has room for, with <script> and $x^2$ in it, " * 5


def measured_row(station="Leak test", values=(2.5, 2.51, 2.39), **more) -> MeasuredRow:
    said = {
        "outside": tuple(not 2.4 <= value <= 2.6 for value in values), "mean": 2.5, "low": 2.45,
        "high": 2.55, "lsl": 2.4, "usl": 2.6, "nominal": 2.5, "words": "n = 3; 1 out", "is_first": False,
        **more,
    }  # fmt: skip
    return MeasuredRow(station=station, values=values, **said)


def measured(*rows, **more) -> MeasuredFigure:
    said = {
        "title": "Wall thickness", "notes": ("n = 3 measured parts.",), "axis": "Wall thickness (mm)",
        "paths": (), "name": "measured-by-station-wall", **more,
    }  # fmt: skip
    return MeasuredFigure(rows=rows, **said)


def onset(points, marks=(), **more) -> OnsetFigure:
    said = {"title": "NOK over time", "notes": ("n = 60 parts.",), "band": None, "first_bad": "", **more}
    return OnsetFigure(points=tuple(points), marks=tuple(marks), **said)


def point(day, share=0.4, state="bad") -> DatedPoint:
    return DatedPoint(
        day=day, share=share, low=max(share - 0.2, 0.0), high=min(share + 0.2, 1.0), state=state
    )


def ageing(*rows, **more) -> AgeingFigure:
    said = {
        "title": "Age of the actions", "notes": ("n = 2 actions.",), "today": "2026-03-10",
        "first": "2026-02-20", "last": "2026-03-20", **more,
    }  # fmt: skip
    return AgeingFigure(rows=rows, **said)


def ageing_row(what="PE-KL: soft pads", opened="2026-03-01", due="2026-03-05", **more) -> AgeingRow:
    said = {"until": "2026-03-10", "is_done": False, "words": "overdue by 5 days", "is_late": True, **more}
    return AgeingRow(what=what, opened=opened, due=due, **said)


def pareto(*rows) -> ParetoFigure:
    return ParetoFigure(
        title="NOK parts by station", notes=("n = 60.",), rows=rows, name="pareto-by-station"
    )


def pareto_row(what="Leak test", nok=12, together=1.0, **more) -> ParetoRow:
    return ParetoRow(what=what, nok=nok, words="12 of 20: 60 % (36 % to 81 %)", together=together, **more)


DAYS = [f"2026-02-{day}" for day in range(10, 29)]
CHANCE = random.Random(1)
MANY = tuple(CHANCE.gauss(2.5, 0.05) for _ in range(3000))
HOSTILE = {
    "thousands of values": measured(*(measured_row(f"{LONG} {n}", MANY) for n in range(8))),
    "values that no axis can hold": measured(
        measured_row(values=(-1e308, 1e308, 5e-324)),
        measured_row(values=(), mean=None, low=None, high=None),
    ),
    "one value again and again": measured(measured_row(values=(2.5,) * 60, low=None, high=None)),
    "values near each other": measured(
        measured_row(values=(1e9, 1e9 + 1e-6), mean=1e9, low=None, lsl=None, usl=None, nominal=None)
    ),
    "changes and actions of one day": onset(
        map(point, DAYS),
        [DayMark(sign=str(n), day="2026-02-24") for n in range(1, 10)]
        + [DayMark(sign=letter, day="2026-02-24", is_action=True) for letter in "ABCDEF"],
        band=("2026-02-24", "2026-02-24"), first_bad="2026-02-24", notes=(LONG,) * 15,
    ),
    "the first and the last day of the calendar": onset(
        [point("0001-01-01"), point("9999-12-31")], [DayMark(sign="1", day="0001-01-01")],
        band=("", "9999-12-31"), first_bad="9999-12-31",
    ),
    "one point": onset([point("2026-02-24", 1.0)]),
    "actions with long names": ageing(*(ageing_row(f"{n} {LONG}", words=LONG) for n in range(20))),
    "actions beyond the ends": ageing(
        ageing_row(opened="0001-01-01", due="9999-12-31"), ageing_row(until="0001-01-01", is_done=True),
        first="0001-01-01", last="0001-01-01", today="0001-01-01",
    ),
    "counts with long names": pareto(
        *(pareto_row(f"{LONG} {n}", 10**9 - n, (n + 1) / 13) for n in range(13))
    ),
    "one count": pareto(pareto_row(LONG, 1)),
}  # fmt: skip


@pytest.mark.parametrize("figure", HOSTILE.values(), ids=HOSTILE.keys())
def test_nothing_is_off_the_page_and_no_text_lies_over_another(figure):
    assert faults_on_paper(figure, 360, 270) == []
    assert ink_at_the_border(picture_of(figure, 480, 320)) == 0


def test_limits_are_named_and_a_part_out_of_tolerance_has_another_shape():
    row = measured_row(is_first=True, words="n = 3; 1 out, the first")
    said = words_on_paper(measured(row))
    assert all(
        word in said for word in ("LSL", "USL", "nominal", "Wall thickness (mm)", "1 out, the first")
    )
    inside = measured(measured_row(values=(2.5, 2.51, 2.39), outside=(False,) * 3))
    outside = measured(measured_row(values=(2.5, 2.51, 2.39), outside=(False, False, True)))
    assert picture_of(inside).convert("1").tobytes() != picture_of(outside).convert("1").tobytes()


def test_a_unit_is_written_as_it_was_typed():
    assert "$x^2$ <b> (mm)" in words_on_paper(measured(measured_row(), axis="$x^2$ <b> (mm)"))


def test_the_numbers_of_a_scale_have_the_decimal_sign_of_the_language():
    figure = measured(measured_row())
    try:
        use(load("de"))
        told = words_on_paper(figure)
    finally:
        use(ENGLISH)

    assert "2,45" in told and "2.45" not in told
    assert "2.45" in words_on_paper(figure)


def test_a_power_of_ten_stands_in_the_name_of_the_axis():
    figure = measured(measured_row(values=(1e9, 3e9), mean=2e9, low=None, lsl=None, usl=None, nominal=None))
    assert "Wall thickness (mm), times 1e9" in words_on_paper(figure)
    assert words_on_paper(figure).count("1e9") == 1


def test_parts_of_one_value_are_stacked_beside_each_other():
    """Ten rings that do not lie in one another have more ink than one ring."""
    alone = measured(measured_row(values=(2.5,), lsl=None, usl=None, nominal=None, mean=None, low=None))
    ten = replace(alone, rows=(replace(alone.rows[0], values=(2.5,) * 10, outside=(False,) * 10),))
    dark = [sum(shade < 200 for shade in picture_of(one).convert("L").tobytes()) for one in (alone, ten)]
    assert dark[1] > dark[0] + 9 * 12


def test_marks_have_their_signs_and_states_their_own_shapes():
    states = ("clean", "bad", "undecided", "after_fix")
    looks = {picture_of(onset([point("2026-02-24", state=s)])).convert("1").tobytes() for s in states}
    assert len(looks) == 4
    marks = [DayMark(sign="1", day=DAYS[3]), DayMark(sign="B", day=DAYS[9], is_action=True)]
    said = words_on_paper(onset(map(point, DAYS), marks))
    assert "changes actions done 1 B" in said
    assert "year-month-day" in said and "NOK of the parts checked (%)" in said


def test_an_axis_of_years_names_years():
    said = words_on_paper(onset([point("1990-01-01"), point("2026-02-24")]))
    assert "2000" in said and "2010" in said and "2000-01" not in said


def test_an_overdue_action_looks_and_reads_unlike_one_in_time():
    late = ageing(ageing_row())
    timely = ageing(ageing_row(due="2026-03-12", words="open, due in 2 days", is_late=False))
    assert picture_of(late).convert("1").tobytes() != picture_of(timely).convert("1").tobytes()
    said = words_on_paper(late)
    assert "PE-KL: soft pads" in said and "overdue by 5 days" in said and "today, 2026-03-10" in said


def test_counts_stand_beside_shares_and_what_all_have_together():
    said = words_on_paper(
        pareto(pareto_row("Leak test", 12, 0.75), pareto_row("Packing", 4, 1.0, is_rest=True))
    )
    assert "NOK (parts)" in said and "share of all NOK, with those above (%)" in said
    assert "12 of 20: 60 % (36 % to 81 %)" in said and "75" in said
