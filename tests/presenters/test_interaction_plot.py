"""The geometry of the interaction plot."""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tests.analysis.test_factorial import counted, measured
from walkapp.analysis.factorial_plan import Design
from walkapp.analysis.factorial_words import FactorName, TrialNames
from walkapp.presenters.interaction_plot import interaction_plot, nice_ticks

NAMES = TrialNames(
    factors=(
        FactorName(name="Pads", low="old", high="hard"),
        FactorName(name="Parts", low="cold", high="warm"),
    ),
    unit="mm",
)


def heights(plot):
    return {line.name: [round(y, 6) for _, y in line.points] for line in plot.lines}


def test_the_four_means_stand_at_their_heights_with_their_counts():
    share = {(-1, -1): 0, (1, -1): 2, (-1, 1): 1, (1, 1): 17}
    result = counted(Design(2, False, 3), lambda levels, again: (share[levels], 20))

    plot = interaction_plot(result, NAMES, 0, 1, "NOK share")

    assert plot.axis == "NOK share, %"
    assert [text for _, text in plot.ticks] == ["0", "20", "40", "60", "80", "100"]
    assert [round(height, 6) for height, _ in plot.ticks] == [0, 0.2, 0.4, 0.6, 0.8, 1]
    assert plot.across == ("Pads: old", "Pads: hard")
    assert heights(plot) == {"Parts: cold": [0, 0.1], "Parts: warm": [0.05, 0.85]}
    assert [line.style for line in plot.lines] == ["dashed", "solid"]
    assert plot.groups == (
        "hard and warm: 51 of 60 NOK",
        "hard and cold: 6 of 60 NOK",
        "old and warm: 3 of 60 NOK",
        "old and cold: 0 of 60 NOK",
    )
    assert plot.says == "Each point is the mean of 3 runs, 60 parts."


def test_the_factors_change_places():
    result = measured(Design(2), (Fraction("10.1"), Fraction("10.2"), Fraction("10.3"), Fraction("10.8")))

    first, second = (interaction_plot(result, NAMES, *at, "Ear gap") for at in ((0, 1), (1, 0)))

    assert first.axis == "Ear gap, mm"
    assert first.ticks == second.ticks
    assert [line.points[0][1] for line in first.lines] == pytest.approx(
        [second.lines[0].points[0][1], second.lines[0].points[1][1]]
    )
    assert second.lines[1].name == "Pads: hard"
    assert first.says == "Each point is the mean of 1 run."


def test_one_factor_has_no_plot():
    result = counted(Design(2), lambda levels, again: (1, 20))
    with pytest.raises(ValueError, match="two factors"):
        interaction_plot(result, NAMES, 1, 1, "NOK share")


means = st.lists(st.integers(-1000, 1000), min_size=4, max_size=4)


@given(means)
def test_nothing_leaves_the_drawing_and_names_never_lie_over_each_other(values):
    plot = interaction_plot(measured(Design(2), values), NAMES, 0, 1, "Ear gap")

    assert all(-1e-9 <= y <= 1 + 1e-9 for line in plot.lines for _, y in line.points)
    low, high = sorted(line.label_at for line in plot.lines)
    assert high - low >= 0.24 - 1e-9
    assert low >= 0.12 - 1e-9 and high <= 0.88 + 1e-9
    by_height = sorted(plot.lines, key=lambda line: line.points[1][1])
    if by_height[0].points[1][1] < by_height[1].points[1][1]:
        assert by_height[0].label_at < by_height[1].label_at


ends = st.decimals(-(10**12), 10**12, places=9).map(float) | st.integers(-50, 50).map(float)


@given(ends, ends)
@example(999_999_999_999.0, 999_999_999_999.0001)
@example(0.0, 1e-9)
def test_ticks_are_few_even_and_reach_round_both_ends(first, second):
    low, high = sorted((first, second))
    ticks = nice_ticks(low, high)
    steps = {round((b - a) / (ticks[1] - ticks[0]), 3) for a, b in itertools.pairwise(ticks)}

    assert 2 <= len(ticks) <= 7
    assert steps == {1.0}
    slack = 1e-6 * (ticks[1] - ticks[0])
    assert ticks[0] <= low + slack and high - slack <= ticks[-1]
