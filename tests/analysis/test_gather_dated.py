"""From counts of older lots, and the records of walks, to dated rows of one station."""

import random
from dataclasses import replace

import pytest

from tests.analysis.test_gather import STREAM, answers, chosen
from tests.builders import make, record_id
from walkapp.analysis.gather_dated import gather_dated
from walkapp.analysis.results import Tally
from walkapp.model.records import Answer, Count, DatedCount, Measurement, Sample

LEAK_TEST = STREAM.stations[1]


def older(number, day, checked=20, nok=0, lot="", check="look", **more):
    said = {"station": "leak-test", "check": check, "walk": "", "lot": lot}
    return make(DatedCount, number, made_on=f"2026-02-{day}", checked=checked, nok=nok, **{**said, **more})


def sample(number, lot="0303-1", made_on="2026-03-03", **more):
    return make(Sample, number, station="leak-test", lot=lot, made_on=made_on, **more)


def rows(*records):
    return [
        (row.day, row.label, sum(t.checked for t in row.tallies), sum(t.nok for t in row.tallies))
        for row in gather_dated(STREAM, LEAK_TEST, records, "crack").rows
    ]


def test_rows_stand_in_the_order_of_production_whatever_the_order_of_the_records():
    records = [
        older(10, 25, nok=6, lot="0225-10"),
        older(11, 25, nok=4, lot="0225-9"),
        older(12, 20),
        older(13, 23, nok=1, lot="B"),
    ]
    expected = [
        ("2026-02-20", "2026-02-20", 20, 0),
        ("2026-02-23", "B", 20, 1),
        ("2026-02-25", "0225-9", 20, 4),
        ("2026-02-25", "0225-10", 20, 6),
    ]

    assert rows(*records) == expected
    random.Random(1).shuffle(records)
    assert rows(*records) == expected


def test_counts_of_one_lot_and_day_are_counts_of_further_parts():
    both = [older(10, 25, 20, 6, lot="A"), older(11, 25, 10, 1, lot="A"), older(12, 25, 5, 0)]

    assert rows(*both) == [("2026-02-25", "2026-02-25", 5, 0), ("2026-02-25", "A", 30, 7)]


def test_what_a_walk_checked_has_a_row_where_its_production_day_is_recorded():
    box = make(Count, 40, station="leak-test", check="box", checked=9, nok=2)
    own = [*answers("look", "ok", "not_ok"), box]

    assert rows(sample(30), *own) == [("2026-03-03", "0303-1", 11, 3)]
    assert rows(*own) == []
    assert gather_dated(STREAM, LEAK_TEST, own, "crack").undated == 11
    assert gather_dated(STREAM, LEAK_TEST, [sample(30, made_on=""), *own], "crack").undated == 11


def test_parts_of_two_walks_stand_apart_and_a_doubtful_sample_dates_nothing():
    other = {"walk": record_id(9)}
    parts = [
        make(Answer, 20, station="leak-test", check="look", answer="ok"),
        make(Answer, 21, station="leak-test", check="look", answer="not_ok", **other),
    ]
    dated = [sample(30), sample(31, made_on="2026-03-02", lot="", **other)]

    assert rows(*parts, *dated) == [("2026-03-02", "2026-03-02", 1, 1), ("2026-03-03", "0303-1", 1, 0)]
    doubtful = gather_dated(STREAM, LEAK_TEST, [*parts, *dated, sample(32, lot="0303-2")], "crack")
    assert ([row.day for row in doubtful.rows], doubtful.undated) == (["2026-03-02"], 1)


def test_a_walk_joins_the_row_of_an_older_count_of_the_same_lot():
    lot = older(10, 25, 20, 6, lot="0225-1")
    walked = [sample(30, "0225-1", "2026-02-25"), *answers("look", "not_ok")]

    assert rows(lot, *walked) == [("2026-02-25", "0225-1", 21, 7)]


@pytest.mark.parametrize(
    "record",
    [
        older(10, 25, station="incoming"),
        older(10, 25, check="surface"),
        older(10, 25, check="gap"),
        older(10, 25, check="gone"),
        make(Measurement, 10, station="leak-test", check="free", value="1.2", unit_of_measure="mm"),
    ],
)
def test_what_says_nothing_of_the_defect_here_has_no_row(record):
    assert rows(sample(30), record) == []


def test_each_check_counts_with_its_own_rates_and_a_study_replaces_them():
    counted = [older(10, 25, 20, 6), older(11, 25, 10, 2, check="box")]
    (row,) = gather_dated(STREAM, LEAK_TEST, counted, "crack").rows
    assert row.tallies == (
        Tally(checked=20, nok=6, detection=0.8, false_alarm=0.01),
        Tally(checked=10, nok=2, detection=0.7, false_alarm=0.02),
    )

    (row,) = gather_dated(STREAM, LEAK_TEST, [*counted, chosen(40)], "crack").rows
    assert row.tallies[0] == Tally(checked=20, nok=6, detection=0.95, false_alarm=0.02)


def test_another_defect_has_rows_of_its_own():
    counted = [older(10, 25, 20, 6), older(11, 26, 5, 1, check="surface")]

    (row,) = gather_dated(STREAM, LEAK_TEST, counted, "scratch").rows
    assert (row.day, row.tallies[0].checked) == ("2026-02-26", 5)
    assert gather_dated(STREAM, replace(LEAK_TEST, checks=()), counted, "crack").rows == ()
