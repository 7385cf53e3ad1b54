"""Sensitivity: every row is the answer itself with other rates; the sentence claims what the rows show."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analysis.streams import station, stream
from walkapp.analysis.locate import locate
from walkapp.analysis.results import Tally
from walkapp.analysis.sensitivity import FALSE_ALARMS, MISSES, find_sensitivity
from walkapp.analysis.shares import SharePrior


def found(stations, named):
    return find_sensitivity(stations, named, SharePrior())


@pytest.mark.parametrize("counts", [((20, 0), (20, 0), (20, 9), (20, 11)), ((40, 1), (20, 0), (30, 10))])
def test_each_row_is_the_whole_computation_with_that_rate(counts):
    sensitivity = locate(stream(*counts)).sensitivity

    for rows, rate in (
        (sensitivity.by_detection, "detection"),
        (sensitivity.by_false_alarm, "false_alarm"),
    ):
        assert rows
        for row in rows:
            answer = locate(stream(*counts, **{rate: row.value}), with_advice=False)
            assert (row.station, row.probability) == (
                answer.first_bad_station,
                pytest.approx(answer.probability if row.station else answer.none_probability),
            )


def test_all_values_are_tried_that_can_be():
    sensitivity = found(stream((20, 0), (20, 9)), 1)

    assert [round(1 - row.value, 6) for row in sensitivity.by_detection] == list(MISSES)
    assert [row.value for row in sensitivity.by_false_alarm] == list(FALSE_ALARMS)


def test_a_detection_that_is_not_above_the_false_alarm_is_left_out():
    stations = (station(1, 20, 0, false_alarm=0.45), station(2, 20, 19, false_alarm=0.45))

    rows = found(stations, 1).by_detection

    assert min(row.value for row in rows) > 0.45


def test_an_answer_that_does_not_depend_on_the_checks_says_so():
    sentence = found(stream((60, 0), (60, 0), (20, 9), (20, 11)), 2).sentence

    assert sentence == (
        "Still Station 3 (95 % or more) if up to 70 % of truly defective parts were missed (no more was "
        "tried). Still Station 3 (95 % or more) if up to 10 % of good parts were called NOK (no more was "
        "tried)."
    )


def test_an_answer_that_rests_on_a_false_alarm_says_where_it_turns():
    # One NOK upstream: with no false alarms at all the defect must start there.
    sensitivity = found(stream((40, 1), (40, 0), (20, 9)), 2)

    assert sensitivity.by_false_alarm[0].station == "Station 1"
    assert sensitivity.sentence.endswith("of good parts were called NOK; Station 1 with 0 %.")


def test_under_95_percent_nothing_is_said_to_be_sure():
    sensitivity = found(stream((5, 0), (5, 2)), 1)

    assert "95 %" not in sensitivity.sentence
    assert sensitivity.sentence.startswith("Still Station 2 if ")


def test_no_station_named_no_sensitivity():
    assert locate(stream((5, 0), (5, 0))).sensitivity is None


@settings(max_examples=40, deadline=None)
@given(
    counts=st.lists(
        st.integers(0, 40).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, n))),
        min_size=1,
        max_size=6,
    ),
    detection=st.sampled_from([0.3, 0.9, 1.0]),
    false_alarm=st.sampled_from([0.0, 0.005, 0.2]),
)
def test_any_counts_give_rows_and_a_sentence_without_error(counts, detection, false_alarm):
    stations = stream(*counts, detection=detection, false_alarm=false_alarm)
    mixed = (
        *stations[:-1],
        replace(
            stations[-1],
            tallies=(*stations[-1].tallies, Tally(checked=3, nok=1, detection=0.6, false_alarm=0.01)),
        ),
    )

    sensitivity = found(mixed, 0)

    for row in (*sensitivity.by_detection, *sensitivity.by_false_alarm):
        assert 0.0 <= row.probability <= 1.0
    assert "100 %" not in sensitivity.sentence
