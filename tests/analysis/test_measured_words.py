"""Measured values in words: what is shown, what is not, and why there is no figure."""

from dataclasses import replace
from decimal import Decimal

import pytest

from walkapp.analysis.capability import capability
from walkapp.analysis.measured import follow_measurements
from walkapp.analysis.measured_results import Limits, MeasuredStation, Reading
from walkapp.analysis.measured_words import (
    answer_sentences,
    indices_in_words,
    limits_in_words,
    mean_in_words,
    outside_in_words,
    shift_in_words,
    spread_in_words,
)
from walkapp.language import ENGLISH, use
from walkapp.languages import load

# Invented wall thickness in mm: five tagged parts before and after a clamp.
BEFORE, AFTER = ("2.51", "2.49", "2.51", "2.49", "2.50"), ("2.43", "2.41", "2.42", "2.39", "2.44")


def station(order, name, values, tag="P"):
    readings = (
        Reading(value=Decimal(value), part=f"{tag}{i}" if tag else "") for i, value in enumerate(values, 1)
    )
    return MeasuredStation(order=order, name=name, readings=tuple(readings))


def follow(*stations, **limits):
    return follow_measurements(stations, **(limits or {"lsl": Decimal("2.40"), "usl": Decimal("2.60")}))


def test_the_answer_names_the_first_part_outside_and_the_first_shift():
    found = follow(
        station(1, "Weld", BEFORE), MeasuredStation(order=2, name="Trim"), station(3, "Test", AFTER)
    )

    # The differences have the mean -0.082 and the standard deviation 0.01483; with 4 degrees of freedom
    # t is -12.36, p 0.000248, and the limits are 2.776 * 0.01483 / sqrt(5) = 0.0184 away.
    assert answer_sentences(found, "mm", 2) == (
        (
            "First out of tolerance at Test: 1 of 5 parts outside; 5 values before, all inside; "
            "not measured: Trim."
        ),
        (
            "The mean shifts first at Test: −0.082 mm against Weld (95 % interval −0.101 to −0.063; the "
            "same 5 tagged parts; p = 0.0003 after correction); not measured between: Trim."
        ),
    )


def test_nothing_shifted_is_no_proof_that_nothing_shifts():
    found = follow(station(1, "Weld", BEFORE, ""), station(2, "Rack", BEFORE, ""))

    assert answer_sentences(found, "mm", 2) == (
        "No part was out of tolerance at the 2 stations where it was measured.",
        "No shift of the mean is shown from station to station; that does not show that there is none.",
    )
    told = shift_in_words(found.moves[0], "mm", 2, found.confidence)
    assert told.startswith(
        "no shift is shown: 0.000 mm against Weld (95 % interval −0.015 to 0.015; 5 and 5"
    )


def test_a_shift_that_rounds_to_nothing_has_no_sign_in_any_language():
    move = follow(station(1, "Weld", BEFORE, ""), station(2, "Rack", BEFORE, "")).moves[0]
    tiny, small = (replace(move, shift=replace(move.shift, value=value)) for value in (0.0004, 0.0006))

    try:
        use(load("de"))
        told = [shift_in_words(one, "mm", 2, 0.95) for one in (tiny, small)]
    finally:
        use(ENGLISH)

    assert [" 0,000 mm " in told[0], " +0,001 mm " in told[1]] == [True, True]


def test_one_station_and_no_station_are_said():
    assert answer_sentences(follow(station(1, "Weld", BEFORE)), "mm", 2) == (
        "No part was out of tolerance at Weld.",
        "Measured at Weld only: a shift shows where two stations are measured.",
    )
    assert answer_sentences(follow(station(1, "Weld", ())), "mm", 2) == ("Nothing was measured yet.",)


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ((), "nothing measured"),
        (("2.5",), "1 part, mean 2.50 mm (no interval: it takes two parts)"),
        (("2.5", "2.5"), "2 parts, mean 2.50 mm (no interval: all values are equal)"),
    ],
)
def test_a_mean_without_an_interval_says_why(values, told):
    assert mean_in_words(follow(station(1, "Weld", values)).stations[0], "mm", 1) == told


def test_parts_out_of_limits_are_said_side_by_side():
    said = follow(station(1, "Weld", ("2.3", "2.5", "2.7", "2.8"))).stations[0]

    assert outside_in_words(said) == (
        "3 of 4 parts out of limits: 1 below LSL and 2 above USL (exact 95 % interval 19 % to 99.4 %)"
    )
    assert outside_in_words(follow_measurements([station(1, "Weld", ("2.3",))]).stations[0]) == ""


def test_a_shift_of_one_part_cannot_be_judged():
    found = follow(station(1, "Weld", ("2.5",), ""), station(2, "Test", ("2.4",), ""))

    assert shift_in_words(found.moves[0], "mm", 1, 0.95) == (
        "nothing can be said (fewer than 2 parts in a sample): −0.10 mm against Weld "
        "(1 and 1 parts, not the same ones)"
    )
    assert spread_in_words(found.moves[0], 0.95) == ""


def test_limits_keep_their_digits():
    assert limits_in_words(Limits(usl=Decimal("35.0")), "°C") == "USL 35.0 °C"
    assert limits_in_words(Limits(lsl=Decimal("-1.50")), "mm") == "LSL −1.50 mm"
    assert limits_in_words(Limits(), "mm") == ""


def test_indices_are_cut_off_and_their_intervals_widened():
    found = capability([Decimal(v) for v in BEFORE], lsl=Decimal("2.40"), usl=Decimal("2.60"))

    told = dict(indices_in_words(found))

    assert list(told) == ["Cp", "Cpk", "Pp", "Ppk"]
    for name, index in (("Cp", found.cp), ("Ppk", found.ppk)):
        value, _, interval = told[name].partition(" (95 % interval ")
        low, _, high = interval.rstrip(")").partition(" to ")
        assert index.value - 0.01 < float(value) <= index.value
        assert float(low) <= index.interval.low and index.interval.high <= float(high)
    assert indices_in_words(capability([Decimal(1)], lsl=Decimal(0))) == ()
