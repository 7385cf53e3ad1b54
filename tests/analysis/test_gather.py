"""From records to counts: what is one part, what counts, and what has no place."""

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.builders import make, record_id
from walkapp.analysis.gather import gather_tallies, rates_in_use, unplaced
from walkapp.analysis.results import Tally
from walkapp.model.checklist import Check, Defect, Station, Stream
from walkapp.model.records import (
    Answer,
    CarriedRecord,
    Concern,
    Count,
    DatedCount,
    HazardsRead,
    Measurement,
    Note,
    Photo,
    RatesChosen,
    Sample,
    Setting,
    StationWeight,
)


def check(id, kind, **more):
    return Check(id=id, station="x", kind=kind, title=id, **{"finds": "crack", **more})


# Invented stream.
STREAM = Stream(
    id="washer",
    name="Washer",
    product="Reservoir",
    version="1",
    cautions=(),
    defects=(Defect(id="crack", name="Crack"), Defect(id="scratch", name="Scratch")),
    stations=(
        Station(order=0, id="incoming", name="Incoming material", short="Incoming", kind="incoming"),
        Station(
            order=1,
            id="leak-test",
            name="Leak test",
            short="Leak test",
            kind="test",
            minutes=2.5,
            checks=(
                check("pressure", "setting"),
                check("asked", "question"),
                check("picture", "photo"),
                check("look", "attribute", detection=0.8, false_alarm=0.01, seconds=20.0),
                check("box", "count", detection=0.7, false_alarm=0.02),
                check("gap", "measurement", lsl=Decimal("1.0"), usl=Decimal("1.5"), detection=0.99),
                check("free", "measurement"),
                check("surface", "attribute", finds="scratch"),
            ),
        ),
    ),
)


def gather(*records, defect="crack"):
    return gather_tallies(STREAM, records, defect)


def answers(check_id, *values):
    return [
        make(Answer, 20 + i, station="leak-test", check=check_id, answer=value, reason="no access")
        for i, value in enumerate(values)
    ]


def test_every_station_is_there_in_stream_order_even_without_records():
    incoming, leak_test = gather()

    assert (incoming.order, incoming.name, incoming.tallies) == (0, "Incoming material", ())
    assert (leak_test.order, leak_test.minutes, leak_test.tallies) == (1, 2.5, ())


def test_a_station_without_a_check_for_the_defect_cannot_be_checked():
    incoming, leak_test = gather()

    assert not incoming.can_be_checked
    assert leak_test.can_be_checked


def test_what_comes_next_is_the_first_check_that_judges_parts():
    leak_test = gather()[1]

    assert leak_test.seconds_per_part == 20.0
    assert (leak_test.next_detection, leak_test.next_false_alarm) == (0.8, 0.01)


def test_each_answer_is_one_part_and_not_applicable_is_none():
    leak_test = gather(*answers("look", "ok", "not_ok", "ok", "not_applicable"))[1]

    assert leak_test.tallies == (Tally(checked=3, nok=1, detection=0.8, false_alarm=0.01),)


def test_counts_are_summed():
    leak_test = gather(
        make(Count, 20, station="leak-test", check="box", checked=20, nok=9),
        make(Count, 21, station="leak-test", check="box", checked=30, nok=0),
        make(Count, 22, station="leak-test", check="box", checked=0, nok=0),
    )[1]

    assert leak_test.tallies == (Tally(checked=50, nok=9, detection=0.7, false_alarm=0.02),)


@pytest.mark.parametrize(
    ("value", "nok"), [("0.9999", 1), ("1.0", 0), ("1.25", 0), ("1.50", 0), ("1.500000001", 1), ("-3", 1)]
)
def test_a_measured_value_outside_the_limits_is_a_nok_part_and_on_the_limit_it_is_not(value, nok):
    record = make(Measurement, 20, station="leak-test", check="gap", value=value, unit_of_measure="mm")

    assert gather(record)[1].tallies == (Tally(checked=1, nok=nok, detection=0.99, false_alarm=0.005),)


def test_each_check_keeps_its_own_rates():
    leak_test = gather(
        make(Count, 30, station="leak-test", check="box", checked=20, nok=9), *answers("look", "ok")
    )[1]

    assert [t.detection for t in leak_test.tallies] == [0.8, 0.7]
    assert (leak_test.checked, leak_test.nok) == (21, 9)


def test_questions_settings_photos_and_measurements_without_limits_never_count():
    digest = "0" * 64
    leak_test = gather(
        *answers("asked", "not_ok"),
        make(Setting, 30, station="leak-test", check="pressure", actual="5", unit_of_measure="bar"),
        make(
            Photo, 31, station="leak-test", check="picture", sha256=digest, media="image/png",
            size_bytes=1, width_px=1, height_px=1,
        ),
        make(Measurement, 32, station="leak-test", check="free", value="9", unit_of_measure="mm"),
    )[1]  # fmt: skip

    assert leak_test.tallies == ()


def test_checks_for_another_defect_do_not_count():
    records = answers("surface", "not_ok", "ok")

    assert gather(*records)[1].tallies == ()
    assert gather(*records, defect="scratch")[1].nok == 1


def test_production_dates_come_from_the_samples_of_the_station():
    leak_test = gather(
        make(Sample, 20, station="leak-test", made_on="2026-03-02"),
        make(Sample, 21, station="leak-test", made_on="2026-03-01", lot="7"),
        make(Sample, 22, station="leak-test", made_on="2026-03-02"),
        make(Sample, 23, station="leak-test", lot="8"),
    )[1]

    assert leak_test.made_on == ("2026-03-01", "2026-03-02")


def test_records_without_a_place_are_left_out_and_named():
    lost = [
        make(Answer, 20, station="paint", check="look", answer="not_ok"),
        make(Count, 21, station="leak-test", check="gone", checked=5, nok=5),
        make(Note, 22, station="paint", words="Dusty."),
        make(Measurement, 23, station="leak-test", check="look", value="9", unit_of_measure="mm"),
        make(Answer, 24, station="leak-test", check="gap", answer="not_ok"),
        make(Count, 25, station="leak-test", check="gap", checked=5, nok=5),
    ]
    placed = [
        make(HazardsRead, 30, station="leak-test"),
        make(Note, 31, station="leak-test", words="Warm."),
        make(Concern, 32, walk="", stream="washer", defect="crack", what="Cracked.", severity="function"),
        make(Answer, 33, station="leak-test", check="gap", answer="not_applicable", reason="no gauge"),
        make(CarriedRecord, 34, carried_kind="later", cells=(("station", "paint"),)),
        *answers("look", "ok"),
    ]

    assert unplaced(STREAM, [*placed, *lost]) == tuple(lost)
    assert gather(*lost, *placed)[1].tallies == (Tally(checked=1, nok=0, detection=0.8, false_alarm=0.01),)


def test_the_order_of_records_does_not_matter():
    records = [
        *answers("look", "ok", "not_ok"),
        make(Count, 30, station="leak-test", check="box", checked=20, nok=9),
        make(Sample, 31, station="leak-test", made_on="2026-03-02"),
    ]

    assert gather(*records) == gather(*reversed(records))


def test_a_check_with_one_limit_judges_parts():
    first, second = STREAM.stations
    one_sided = replace(second, checks=(check("gap", "measurement", usl=Decimal(2)),))
    record = make(Measurement, 20, station="leak-test", check="gap", value="2.1", unit_of_measure="mm")

    (_, tally) = gather_tallies(replace(STREAM, stations=(first, one_sided)), [record], "crack")

    assert (tally.checked, tally.nok) == (1, 1)


def chosen(number, detection="0.95", false_alarm="0.02", station="leak-test", check="look"):
    return make(
        RatesChosen, number, walk="", station=station, check=check, study=record_id(5),
        detection=detection, false_alarm=false_alarm, detection_low="0.7", false_alarm_high="0.3",
        bad_parts=9, good_parts=9,
    )  # fmt: skip


def test_chosen_rates_of_a_study_count_instead_of_the_checklists():
    leak_test = gather(
        chosen(40), make(Count, 30, station="leak-test", check="box", checked=20, nok=9),
        *answers("look", "ok"),
    )[1]  # fmt: skip

    assert leak_test.tallies == (
        Tally(checked=1, nok=0, detection=0.95, false_alarm=0.02),
        Tally(checked=20, nok=9, detection=0.7, false_alarm=0.02),
    )
    assert (leak_test.next_detection, leak_test.next_false_alarm) == (0.95, 0.02)


@pytest.mark.parametrize("elsewhere", [{"station": "incoming"}, {"check": "box"}, {"check": "gone"}])
def test_rates_chosen_for_another_check_change_nothing_here(elsewhere):
    leak_test = gather(chosen(40, **elsewhere))[1]

    assert (leak_test.next_detection, leak_test.next_false_alarm) == (0.8, 0.01)


def test_of_two_choices_the_newest_one_counts_in_whatever_order_they_come():
    records = [chosen(41, "0.96"), chosen(42, "0.85"), chosen(40, "0.97")]

    assert gather(*records)[1].next_detection == 0.85
    assert gather(*reversed(records))[1].next_detection == 0.85
    assert rates_in_use(records) == {("leak-test", "look"): records[1]}


def test_a_choice_for_a_check_that_is_not_there_is_named():
    lost = chosen(40, check="gone")

    assert unplaced(STREAM, [lost, chosen(41)]) == (lost,)


def test_a_count_of_an_older_lot_is_no_part_of_the_stream():
    older = make(DatedCount, station="leak-test", check="look", made_on="2026-02-25", checked=20, nok=9)

    assert gather(older, *answers("look", "ok")) == gather(*answers("look", "ok"))
    assert gather(older)[1].made_on == ()


@pytest.mark.parametrize("elsewhere", [{"station": "dock"}, {"check": "gone"}, {"check": "gap"}])
def test_a_count_of_an_older_lot_with_another_kind_of_check_has_no_place(elsewhere):
    said = {"station": "leak-test", "check": "look", "made_on": "2026-02-25", "checked": 20, "nok": 9}
    lost = make(DatedCount, **{**said, **elsewhere})

    assert unplaced(STREAM, [lost, make(DatedCount, 31, **said)]) == (lost,)


def test_weights_of_0_at_every_station_count_as_none():
    # Each of two tablets may rule out one station of two; merged, every one would be ruled out.
    records = [
        make(StationWeight, number, station=station.id, weight="0", reason="invented")
        for number, station in enumerate(STREAM.stations, start=7)
    ]

    assert {tally.weight for tally in gather_tallies(STREAM, records, "crack")} == {1.0}
    assert 0.0 in {tally.weight for tally in gather_tallies(STREAM, records[1:], "crack")}


def test_the_newest_weight_of_a_station_counts_whatever_the_order():
    older, newer = (
        make(StationWeight, number, station="leak-test", weight=weight, reason="invented")
        for number, weight in ((7, "3"), (8, "0.1"))
    )

    for records in ((older, newer), (newer, older)):
        weights = {t.name: t.weight for t in gather_tallies(STREAM, records, "crack")}
        assert [w for w in weights.values() if w != 1.0] == [0.1]
