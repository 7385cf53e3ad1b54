"""The figures of indicators over time: what they say of each month, and that all of it can be read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

import pytest

from tests.auditors import Auditor
from tests.desks import StreamDesk
from tests.fakes import Desk
from tests.paper.figures import faults_on_paper, ink_at_the_border, picture_of, words_on_paper
from tests.sites import Site, contained
from walkapp.actions.figures.catalogue import stream_figures
from walkapp.actions.indicators.factors import state_offers
from walkapp.actions.indicators.offers import OFFERS
from walkapp.paper.figures.over_time import MonthPoint, OverTimeFigure

NOON = datetime(2026, 3, 11, 12, 0, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture(scope="module")
def stream(tmp_path_factory):
    """A stream with reports, containments, audits of three months and deliveries."""
    desk = Desk(tmp_path_factory.mktemp("figures"), starts=NOON)
    with desk.store:
        made = StreamDesk(desk)
        Auditor(desk).nights_without_looking(date(2026, 2, 23), date(2026, 3, 10))
        contained(Site(desk, reported_on="2026-02-19", quantity=35))
        for month in ("2025-11", "2025-12", "2026-01"):
            Site(desk, reported_on=f"{month}-05", quantity=4)
            made.deliver(f"{month}-01", 50_000)
        state_offers(desk.place, made.facts, tuple(OFFERS.values()))
        yield made


def figures(stream):
    return {one.name: one for one in stream_figures(stream.place, stream.facts, "indicators")}


def test_there_is_a_figure_of_each_indicator_of_which_something_is_known(stream):
    names = set(figures(stream))

    assert {"indicator-ppm", "indicator-audit-conformity", "indicator-days-to-contain"} <= names
    assert "indicator-overdue-actions" not in names  # no action is recorded


def test_without_a_success_factor_there_is_no_figure(desk):
    assert tuple(stream_figures(desk.place, StreamDesk(desk).facts, "indicators")) == ()


def test_each_month_has_its_value_its_limits_and_its_n(stream):
    ppm = figures(stream)["indicator-ppm"]

    known = [point for point in ppm.points if point.value is not None]
    assert [(one.label, one.value, one.many) for one in known] == [
        ("Nov 25", 80.0, 50_000), ("Dec 25", 80.0, 50_000), ("Jan 26", 80.0, 50_000),
    ]  # fmt: skip
    assert all(one.low < one.value < one.high for one in known)
    assert ppm.points[-1].label == "Mar, so far"
    assert ppm.axis == "Customer PPM (ppm)"


def test_what_is_still_open_is_drawn_open_upwards(stream):
    points = {one.label: one for one in figures(stream)["indicator-days-to-contain"].points}

    assert (points["Jan 26"].value, points["Jan 26"].low, points["Jan 26"].is_open) == (None, 65.0, True)
    assert (points["Feb 26"].value, points["Feb 26"].state) == (20.0, "bad")


def test_every_figure_says_how_limits_were_made_its_unit_and_what_it_does_not_know(stream):
    for figure in figures(stream).values():
        told = " ".join(figure.notes)
        assert "Each point: " in told, figure.name
        assert "It does not know: " in told, figure.name
        assert "imits" in told or "can still become" in told, figure.name
        assert figure.axis.endswith(("(%)", "(days)", "(ppm)", "(number)")), figure.name


@pytest.mark.parametrize(
    ("name", "size"),
    [("ppm", (760, 460)), ("days-to-contain", (760, 460)), ("audit-conformity", (360, 260))],
)
def test_all_of_a_figure_can_be_read_and_nothing_is_cut_off_or_lies_over_something_else(stream, name, size):
    figure = figures(stream)[f"indicator-{name}"]

    assert faults_on_paper(figure, *size) == []
    assert ink_at_the_border(picture_of(figure, *size)) == 0
    told = words_on_paper(figure, width=size[0], height=size[1])
    assert "month; below it n" in told
    assert figure.axis in told
    assert "target at " in told


def test_several_targets_of_one_indicator_are_lines_of_their_own_the_strictest_first(stream):
    stream.state("audit-conformity", "70", factor="Else")

    figure = figures(stream)["indicator-audit-conformity"]

    assert [target for target, _ in figure.targets] == [90.0, 70.0]
    assert faults_on_paper(figure, 760, 460) == []


def point(value, low=None, high=None, state="clean", *, is_open=False, many=3, label="Jan 26"):
    return MonthPoint(
        label=label, value=value, low=low, high=high, is_open=is_open, many=many, state=state
    )  # fmt: skip


def over_time(*points, **more):
    said = {
        "title": "Days", "notes": ("n = 3 concerns.",), "name": "x", "axis": "days (days)",
        "points": points, "targets": ((5.0, "target at most 5 days"),),
    }  # fmt: skip
    return OverTimeFigure(**{**said, **more})


@pytest.mark.parametrize(
    "points",
    [
        [point(0.0)],
        [point(1e9, 1e8, 1e12), point(2.0)],
        [point(None, 700_000.0, is_open=True), point(1.0)],
        [point(50.0, 0.0, 100.0, "undecided", many=10**9, label="Dec 99, so far")] * 12,
    ],
)
def test_odd_values_are_drawn_inside_their_area(points):
    figure = over_time(*points)

    assert faults_on_paper(figure, 560, 400) == []
    assert ink_at_the_border(picture_of(figure)) == 0


def test_hostile_words_are_shown_as_they_are():
    figure = over_time(
        point(3.0), title="$x^2$ <script>", notes=("a" * 4000,), targets=((5.0, "$y$ " * 200),)
    )

    assert "<script>" in words_on_paper(figure, 760, 700)
    assert faults_on_paper(figure, 760, 700) == []


def test_state_is_a_shape_and_reads_without_colour():
    on, off = over_time(point(3.0)), over_time(point(3.0, state="bad"))

    grey = [picture_of(one).convert("L").tobytes() for one in (on, off)]

    assert grey[0] != grey[1]


def test_the_same_months_give_the_same_figure(stream):
    first, second = figures(stream), figures(stream)

    assert first == second
    one = first["indicator-ppm"]
    assert replace(one, title="x") != one
