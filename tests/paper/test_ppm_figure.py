"""The figure of the ppm by month: what stands on it, zero counts are drawn, and nothing is cut off."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.deliverers import STREAM, Deliverer
from tests.fakes import Desk
from tests.paper.figures import faults_on_paper, ink_at_the_border, picture_of, words_on_paper
from walkapp.actions.desk import desk_facts
from walkapp.actions.figures.catalogue import stream_figures
from walkapp.actions.figures.ppm import ppm_figure
from walkapp.actions.ppm import ppm_of
from walkapp.model.records import Deliveries
from walkapp.paper.figures import as_pdf, as_svg
from walkapp.paper.figures.ppm import PpmFigure, PpmPoint, top_of_axis


def point(month="2026-02", ppm=700.0, low=488.0, high=974.0, **more):
    said = {"delivered": 50_000, "short": ppm, "long": ppm} | more
    return PpmPoint(month=month, ppm=ppm, low=low, high=high, **said)


ZERO = point("2026-03", 0.0, None, 59.9)
LEAST = point("2026-01", 20.0, 1.0, None)
NOTHING = point("2025-12", None, None, None, delivered=None, short=None, long=None)


TWO_YEARS = [point(f"{2000 + i // 12}-{i % 12 + 1:02}", 50.0 * i, 40.0 * i, 70.0 * i) for i in range(24)]


def figure(*points, target=None, **more):
    return PpmFigure(
        **{"title": "PPM by month", "notes": ("n = 50,000 parts.",), **more}, points=points, target=target
    )


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """Fourteen months with a gap, a zero month, a month of unknown quantity and a target."""
    made = Desk(tmp_path_factory.mktemp("desk"))
    with made.store:
        deliverer = Deliverer(made)
        made.concern(quantity=35, reported_on="2026-02-10")
        made.concern(reported_on="2025-12-10")
        for place in range(14):
            year, month = divmod(2025 * 12 + place, 12)
            if place != 5:
                deliverer.month(
                    f"{year}-{month + 1:02}", 45_000 + 700 * place, nok=3 if place == 3 else None
                )
        deliverer.target("200")
        yield made


def test_the_catalogue_has_it_and_it_says_what_it_rests_on(desk):
    (made,) = stream_figures(desk.place, desk_facts(desk.place, STREAM), "ppm-by-month")

    said = words_on_paper(made, 800, 500)
    for words in (
        "NOK of a million delivered (ppm)",
        "delivered (parts)",
        "month (year-month)",
        "n = 645,200 parts delivered in 13 of 14 months, at least 39 NOK.",
        "dash-dotted: the target, 200 ppm",
        "exact for counts (Poisson, Garwood), 95 %",
        "two-sided limits",
        "one-sided limit",
        "Hatched: no deliveries are recorded",
        "12 months",
        "2026-02",
    ):
        assert words in said


def test_limits_of_each_kind_become_what_is_drawn(desk):
    made = ppm_figure(ppm_of(desk_facts(desk.place, STREAM), date(2026, 3, 2)))
    by_month = {one.month: one for one in made.points}

    february, december, june = by_month["2026-02"], by_month["2025-12"], by_month["2025-06"]
    assert february.low is not None and february.high is not None
    assert december.low is not None and december.high is None
    assert by_month["2026-01"].low is None and by_month["2026-01"].high is not None
    assert (june.delivered, june.ppm, june.low, june.high) == (None, None, None, None)


def test_without_deliveries_nothing_is_drawn(tmp_path):
    empty = Desk(tmp_path)
    with empty.store:
        empty.concern(quantity=35, reported_on="2026-02-10")
        assert tuple(stream_figures(empty.place, desk_facts(empty.place, STREAM), "ppm-by-month")) == ()


def test_figures_of_odd_numbers_are_made(tmp_path):
    odd = Desk(tmp_path)
    with odd.store:
        deliverer = Deliverer(odd)
        deliverer.add(Deliveries, month="2026-02-01", delivered=1, customer_nok=10**9)
        deliverer.add(Deliveries, month="2026-01-01", delivered=0, customer_nok=5)
        deliverer.add(Deliveries, month="9999-12-01", delivered=5)
        deliverer.target("0")
        (made,) = stream_figures(odd.place, deliverer.facts, "ppm-by-month")
        assert faults_on_paper(made) == []


@pytest.mark.parametrize("size", [(842, 595), (300, 230)])
@pytest.mark.parametrize(
    "made",
    [
        figure(point()),
        figure(ZERO),
        figure(NOTHING),
        figure(LEAST, NOTHING, ZERO, point(), target=750.0),
        figure(*TWO_YEARS, target=100.0, title="long " * 60, notes=("$\\frac{1}{0}$ <script> م " * 20,)),
    ],
    ids=["one", "zero", "nothing", "all kinds", "two years"],
)  # fmt: skip
def test_nothing_is_off_the_page_and_no_text_lies_over_another(made, size):
    assert faults_on_paper(made, *size) == []


def test_a_zero_count_is_seen(desk):
    """A ring on the axis and a bar up to its limit: other ink than of a month without deliveries."""
    assert picture_of(figure(ZERO)).tobytes() != picture_of(figure(NOTHING)).tobytes()
    assert (
        picture_of(figure(ZERO)).tobytes()
        != picture_of(figure(point("2026-03", 0.0, None, None))).tobytes()
    )


NUMBERS = st.none() | st.floats(0, 1e13)
POINTS = st.builds(
    PpmPoint, month=st.just("2026-01"), delivered=st.none() | st.integers(0, 10**12), ppm=NUMBERS,
    low=NUMBERS, high=NUMBERS, short=NUMBERS, long=NUMBERS,
)  # fmt: skip


@settings(max_examples=6)
@given(points=st.lists(POINTS, min_size=1, max_size=24), target=NUMBERS)
def test_any_numbers_are_drawn_inside_the_picture(points, target):
    assert ink_at_the_border(picture_of(figure(*points, target=target), 500, 320)) == 0


@given(points=st.lists(POINTS, min_size=1, max_size=24), target=NUMBERS)
def test_every_value_is_on_the_axis(points, target):
    top = top_of_axis(points, target)

    assert top > 0
    values = [v for p in points for v in (p.ppm, p.short, p.long) if v is not None]
    assert all(value <= top for value in values)


def test_one_month_with_wide_limits_does_not_squash_the_others():
    assert top_of_axis([point("2026-01", 0.0, None, 1_000_000.0), point()], 50.0) < 2_500
    assert top_of_axis([ZERO], None) > 59.9
    assert top_of_axis([point()], 1e6) < 2_500
    assert top_of_axis([NOTHING], 200.0) > 200


def test_the_same_figure_gives_the_same_bytes():
    made = figure(LEAST, ZERO, point())
    assert as_pdf(made, width=500, height=300) == as_pdf(made, width=500, height=300)
    assert "<script" not in as_svg(made, width=500, height=300)
