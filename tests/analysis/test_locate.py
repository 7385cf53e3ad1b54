"""The whole answer: what is named, how sure, and that the probabilities mean what they say."""

import json
import math
import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from tests.analysis.streams import station, stream
from walkapp.analysis.locate import answer_to_json, locate
from walkapp.analysis.results import BAD, CLEAN, NOT_VISITED, UNDECIDED, Tally


def test_two_clean_and_two_bad_stations_name_the_third():
    answer = locate(stream((20, 0), (20, 0), (20, 9), (20, 11)))

    assert answer.first_bad_station == answer.plain_rule_station == "Station 3"
    assert answer.probability > 0.999
    assert answer.is_sure
    assert answer.next is None
    assert answer.sentence == "The defect starts at Station 3 (>99.9 %)."
    assert [v.verdict for v in answer.stations] == [CLEAN, CLEAN, BAD, BAD]


def test_limits_of_each_station_are_the_exact_ones():
    # SciPy, binomtest(9, 20).proportion_ci(method="exact").
    expected = scipy_stats.binomtest(9, 20).proportion_ci(method="exact")

    verdict = locate(stream((20, 0), (20, 9))).stations[1]

    assert (verdict.interval.low, verdict.interval.high) == pytest.approx(
        (expected.low, expected.high), rel=1e-9
    )
    assert (verdict.interval.sides, verdict.share) == (2, 0.45)


def test_parts_that_would_prove_a_station_clean_count_what_was_seen_and_what_a_check_misses():
    # With a detection of 0.9 the success run for 10 % at 95 % is 32 parts.
    clean, weak, seen, blind = (
        station(1, 20, 0),
        station(2, tallies=(Tally(checked=20, nok=0, detection=0.5, false_alarm=0.0),)),
        station(3, 20, 9),
        station(4, can_be_checked=False),
    )

    verdicts = locate((clean, weak, seen, blind)).stations

    # 20 parts at 0.5 are worth 20 ln(0.95) / ln(0.91) = 10.9 parts at 0.9.
    assert [v.parts_to_prove_clean for v in verdicts] == [12, 22, None, None]


def test_nothing_checked_says_nothing():
    answer = locate(stream((0, 0), (0, 0)))

    assert answer.first_bad_station is answer.probability is answer.plain_rule_station is None
    assert answer.sentence == "Nothing was checked yet, so nothing is known about where the defect starts."
    assert {v.verdict for v in answer.stations} == {NOT_VISITED}
    assert (answer.stations[0].share, answer.stations[0].interval, answer.stations[0].upper_one_sided) == (
        None,
        None,
        None,
    )
    assert answer.warnings == ()
    assert answer.next is not None


def test_no_nok_names_no_station_and_proves_nothing():
    answer = locate(stream((20, 0), (20, 0)))

    assert answer.first_bad_station is None
    assert answer.sentence == (
        "No NOK in 40 parts at 2 stations, which does not prove that the defect is absent: "
        f"{int(answer.none_probability * 100)} % that it is not present in this stream."
    )


def test_very_many_ok_parts_say_that_it_is_not_here():
    answer = locate(stream((5000, 0), (5000, 0)))

    assert (
        answer.sentence
        == "No NOK in 10,000 parts at 2 stations: the defect is not present in this stream (99.2 %)."
    )
    assert answer.next is None


def test_a_false_alarm_among_very_many_parts_names_no_station():
    answer = locate(stream((200, 1), (200, 0), (200, 0)))

    assert answer.first_bad_station is None
    assert answer.plain_rule_station == "Station 1"
    assert answer.sentence.startswith(
        "No station is named: 1 NOK in 600 parts at 3 stations may be false alarms (3.0 expected); 84 % th"
    )


def test_not_present_must_be_more_probable_than_each_station_to_leave_them_unnamed():
    # One NOK part at one station. By hand: the mean share is 1 / L - 0.01 with L = ln(1.01 / 0.01), the
    # integral of p / (p + 0.01) over 0 to 1, divided by L; with d = 0.9 and f = 0.4 the mean chance of a
    # NOK is 0.4 + 0.5 times that if the defect starts there, and 0.4 if it is not present.
    nok = 0.4 + 0.5 * (1 / math.log(101) - 0.01)
    answer = locate(stream((1, 1), detection=0.9, false_alarm=0.4))

    assert answer.first_bad_station == "Station 1"
    assert answer.probability == pytest.approx(nok / (nok + 0.4), rel=1e-12)
    assert answer.sentence.endswith("next most likely it is not in this stream at all (44 %).")


def test_a_station_after_all_that_was_checked_is_not_named_when_it_is_only_as_likely_as_not_present():
    answer = locate(stream((18, 1), (18, 0), (0, 0)))

    assert answer.none_probability == pytest.approx(answer.stations[2].probability_origin, rel=1e-12)
    assert answer.first_bad_station is None
    assert answer.sentence.startswith("No station is named: 1 NOK in 36 parts")


def test_under_95_percent_it_is_most_likely_and_never_is():
    answer = locate(stream((3, 0), (3, 2)))

    assert answer.probability < 0.95
    assert answer.sentence == (
        "Most likely the defect starts at Station 2 (82 %); next most likely it starts at Station 1 (17 %)."
    )


def test_a_skipped_station_is_named_beside_the_one_where_nok_was_seen():
    answer = locate(stream((20, 0), (0, 0), (20, 9), (20, 11)))

    assert answer.first_bad_station == "Station 3"
    assert answer.sentence == (
        "Most likely the defect starts at Station 2 or Station 3 (49 % each); "
        "the parts checked so far cannot tell them apart."
    )
    assert answer.probability == answer.stations[1].probability_origin


def test_a_station_that_is_likelier_beforehand_may_be_named_without_a_part():
    answer = locate((station(1, 20, 0), station(2, weight=3.0), station(3, 20, 9)))

    assert (answer.first_bad_station, answer.plain_rule_station) == ("Station 2", "Station 3")


@pytest.mark.parametrize(
    ("counts", "verdicts"),
    [
        (((1, 0), (1, 0)), [UNDECIDED, UNDECIDED]),
        (((20, 9), (20, 0)), [BAD, UNDECIDED]),
        (((200, 1), (60, 0), (20, 9)), [UNDECIDED, CLEAN, BAD]),
        (((0, 0), (20, 9)), [NOT_VISITED, BAD]),
    ],
)
def test_verdicts_are_cautious(counts, verdicts):
    assert [v.verdict for v in locate(stream(*counts)).stations] == verdicts


def test_assumptions_are_those_of_the_least_able_check_used():
    stations = (
        station(1, 5, 0, detection=0.9, false_alarm=0.005),
        station(2, 5, 0, detection=0.7, false_alarm=0.001),
        station(3, 0, 0, detection=0.1, false_alarm=0.05),
    )

    assumptions = locate(stations, share_low=0.02, share_high=0.5).assumptions

    assert (assumptions.detection, assumptions.false_alarm) == (0.7, 0.005)
    assert (assumptions.share_low, assumptions.share_high) == (0.02, 0.5)


def test_assumptions_before_the_first_part_are_those_of_the_checks_at_hand():
    assumptions = locate(stream((0, 0), (0, 0), detection=0.8, false_alarm=0.01)).assumptions

    assert (assumptions.detection, assumptions.false_alarm) == (0.8, 0.01)


def test_incoming_material_is_a_station_of_order_0():
    incoming = station(0, 20, 9, name="Incoming material")

    answer = locate((incoming, *stream((20, 10), (20, 9))))

    assert answer.first_bad_station == "Incoming material"
    assert answer.sentence == "The defect comes in with Incoming material (>99.9 %)."
    assert answer.warnings == (
        "Incoming material comes from outside: look for the start of the defect before this stream.",
    )


def test_the_guide_can_be_left_out():
    assert locate(stream((0, 0), (0, 0)), with_advice=False).next is None


def test_the_json_has_the_keys_of_the_contract_and_all_digits():
    answer = locate(stream((20, 0), (0, 0), (20, 9)))

    said = json.loads(json.dumps(answer_to_json(answer), allow_nan=False))

    assert list(said) == [
        "first_bad_station",
        "probability",
        "plain_rule_station",
        "stations",
        "none_probability",
        "next",
        "beyond",
        "assumptions",
        "sensitivity",
        "warnings",
    ]
    assert said["probability"] == answer.probability
    assert said["stations"][0] == {
        "station": "Station 1",
        "checked": 20,
        "nok": 0,
        "share": 0.0,
        "low95": 0.0,
        "high95": answer.stations[0].interval.high,
        "probability_origin": answer.stations[0].probability_origin,
        "verdict": "clean so far",
    }
    assert (
        said["stations"][1]["share"]
        is said["stations"][1]["low95"]
        is said["stations"][1]["high95"]
        is None
    )
    assert list(said["next"]) == ["station", "parts", "why", "minutes", "chance_sure"]
    assert said["assumptions"] == {"detection": 0.9, "false_alarm": 0.005}


def test_the_json_of_an_unknown_answer_is_none_not_nothing():
    said = answer_to_json(locate(stream((4000, 0), (4000, 0))))

    assert (
        said["first_bad_station"]
        is said["probability"]
        is said["plain_rule_station"]
        is said["next"]
        is None
    )


shops = st.lists(
    st.one_of(st.integers(0, 40), st.just(0), st.integers(0, 1_000_000)).flatmap(
        lambda n: st.tuples(st.just(n), st.one_of(st.just(0), st.just(n), st.integers(0, n)))
    ),
    min_size=1,
    max_size=7,
)


@settings(max_examples=80, deadline=None)
@given(
    counts=shops,
    detection=st.sampled_from([1.0, 0.9, 0.3]),
    false_alarm=st.sampled_from([0.0, 0.005, 0.2]),
    data=st.data(),
)
def test_any_counts_give_a_coherent_answer(counts, detection, false_alarm, data):
    here = data.draw(st.one_of(st.none(), st.integers(1, len(counts))))

    answer = locate(stream(*counts, detection=detection, false_alarm=false_alarm), here=here)

    named = [v for v in answer.stations if v.station == answer.first_bad_station]
    total = math.fsum(v.probability_origin for v in answer.stations) + answer.none_probability
    assert total == pytest.approx(1.0, abs=1e-12)
    assert (answer.probability is None) == (not named)
    if named:
        best = max(v.probability_origin for v in answer.stations)
        assert answer.probability == named[0].probability_origin == pytest.approx(best, rel=1e-8)
        assert answer.plain_rule_station is not None
        assert answer.sentence.startswith("The defect starts at") == answer.is_sure
    assert answer.is_sure <= (answer.next is None)
    assert "100 %" not in answer.sentence and " 0 %" not in answer.sentence
    json.dumps(answer_to_json(answer), allow_nan=False)


@settings(max_examples=40, deadline=None)
@given(counts=shops)
def test_more_ok_parts_at_a_station_never_make_it_likelier_that_the_defect_is_in_it(counts):
    stations = stream(*counts)
    tally = Tally(checked=10, nok=0, detection=0.9, false_alarm=0.005)
    more = (replace(stations[0], tallies=(*stations[0].tallies, tally)), *stations[1:])

    before, after = locate(stations, with_advice=False), locate(more, with_advice=False)

    if stations[0].nok == 0:
        assert after.stations[0].probability_present <= before.stations[0].probability_present + 1e-9


def test_probabilities_are_those_of_repeated_walks():
    """Draw streams as the model says, walk them, and compare what was said with what was so.

    The mean probability given to the true answer, and how often the named station is the true one
    among walks of similar probability, follow from the definition of probability; nothing is copied
    from the program under test. 600 walks, seed 20260303; limits are 4 standard errors.
    """
    rng = random.Random(20260303)
    walks = 600
    brier_gap, said_sure, right_when_sure = 0.0, 0, 0
    said, was, variance = 0.0, 0, 0.0
    for _ in range(walks):
        # log(share + 0.01) is uniform.
        origin, share = rng.randint(1, 6), 0.01 * 101 ** rng.random() - 0.01
        if origin == 6:
            origin = 99  # not present: as probable beforehand as each of the five stations
        counts = []
        for order in range(1, 6):
            checked = rng.choice((0, 3, 8, 20))
            nok_chance = share * 0.9 + (1 - share) * 0.005 if order >= origin else 0.005
            counts.append((checked, sum(rng.random() < nok_chance for _ in range(checked))))
        answer = locate(stream(*counts), with_advice=False)
        probabilities = [v.probability_origin for v in answer.stations] + [answer.none_probability]
        truth = probabilities[min(origin, 6) - 1]
        # If the probabilities are right, the mean of the one of the truth is that of their squares.
        brier_gap += truth - sum(p * p for p in probabilities)
        best = max(range(6), key=probabilities.__getitem__)
        said += probabilities[best]
        variance += probabilities[best] * (1 - probabilities[best])
        was += best == min(origin, 6) - 1
        said_sure += answer.is_sure
        right_when_sure += answer.is_sure and answer.first_bad_station == f"Station {origin}"

    assert abs(brier_gap / walks) < 4 * 0.3 / math.sqrt(walks)
    assert abs(was - said) < 4 * math.sqrt(variance)
    assert said_sure > 40
    assert right_when_sure / said_sure > 0.95
