"""What turning a suspected cause on and off proves: the rule, its errors, and its words."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.benchmarks.on_off import NOTHING, rates, without_count_of_turns
from walkapp.analysis.on_off import (
    CONTRADICTED,
    LEVEL,
    NOT_SHOWN,
    OFF,
    ON,
    POINTS,
    PROVED,
    Turn,
    confirm_counts,
    confirm_values,
)
from walkapp.analysis.on_off_words import on_off_lines, on_off_notes, on_off_sentence
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.within_pairs import CountPair, more_when_on


def counts(*noks, checked=20, states=(ON, OFF)):
    """Give turns, on and off in turn, with so many NOK parts."""
    return [
        Turn(number=n, state=states[(n - 1) % len(states)], checked=checked, nok=nok)
        for n, nok in enumerate(noks, start=1)
    ]


def measured(*values):
    """Give turns, on and off in turn, with these values each."""
    return [
        Turn(number=n, state=ON if n % 2 else OFF, values=tuple(map(Fraction, map(str, some))))
        for n, some in enumerate(values, start=1)
    ]


def chance():
    return random.Random(1)


def test_six_turns_that_come_and_go_with_the_switch_prove_it():
    found = confirm_counts(counts(6, 0, 7, 0, 5, 0))

    assert (found.verdict, found.times, found.are_apart, found.further) == (PROVED, 3, True, None)
    assert found.by_turns == Fraction(1, 20)
    assert (found.on.nok, found.on.checked, found.off.nok, found.off.checked) == (18, 60, 0, 60)


def test_on_off_on_off_points_that_way_and_says_what_would_prove_it():
    """Check value F12 and its neighbours: 2 and 2 turns stand apart by chance once in 6, 3 and 3 in 20."""
    found = confirm_counts(counts(6, 0, 7, 0))

    assert (found.verdict, found.by_turns, found.further) == (POINTS, Fraction(1, 6), 2)
    assert confirm_counts(counts(6, 0, 7, 0, 6, 0)).verdict == PROVED


@pytest.mark.parametrize("nok", [20, 10_000])
def test_one_turn_on_and_one_off_never_prove_anything(nok):
    found = confirm_counts(counts(nok, 0, checked=10_000))

    assert (found.verdict, found.by_turns) == (POINTS, Fraction(1, 2))


def test_turns_without_a_switch_between_them_count_as_one():
    three_and_three = counts(6, 6, 6, 0, 0, 0, states=(ON, ON, ON, OFF, OFF, OFF))

    found = confirm_counts(three_and_three)

    assert (found.verdict, len(found.turns), found.times, found.by_turns) == (POINTS, 2, 1, Fraction(1, 2))
    assert (found.on.nok, found.on.checked) == (18, 60)


def test_it_may_begin_with_off():
    found = confirm_counts(counts(0, 6, 0, 7, 0, 5, states=(OFF, ON)))

    assert (found.verdict, found.times) == (PROVED, 2)


def test_turns_that_overlap_can_no_longer_prove_it():
    found = confirm_counts(counts(9, 1, 1, 0, 9, 0, 9, 0))

    assert (found.verdict, found.further) == (POINTS, None)
    on, off = found.overlap
    assert (on.number, off.number) == (3, 2)


def test_too_few_parts_show_nothing_yet():
    found = confirm_counts(counts(1, 0, 1, 0, checked=5))

    assert found.verdict == NOT_SHOWN
    assert found.within == pytest.approx(0.25)
    assert confirm_counts(counts(*(1, 0) * (2 + found.further // 2), checked=5)).verdict == PROVED


def test_a_p_of_just_one_in_twenty_is_not_below_it():
    """3 of 3 against 0 of 3 is 1/20, and rounding must not push it below."""
    found = confirm_counts(counts(3, 0, checked=3))

    assert found.within == pytest.approx(1 / 20)
    assert found.verdict == NOT_SHOWN


@pytest.mark.parametrize(
    ("turns", "verdict"),
    [
        (counts(2, 3), CONTRADICTED),  # off no better than on
        (counts(3, 3), CONTRADICTED),
        (counts(0, 8), CONTRADICTED),  # the other way round
        (counts(20, 20, 20, 20), CONTRADICTED),
        (counts(0, 0, 0, 0), NOT_SHOWN),  # the defect did not come at all
        (counts(1, 0), NOT_SHOWN),
    ],
)
def test_a_defect_that_comes_when_off_as_well_contradicts(turns, verdict):
    assert confirm_counts(turns).verdict == verdict


@pytest.mark.parametrize("turns", [[], counts(6), counts(0, states=(OFF,))])
def test_without_both_states_nothing_is_shown(turns):
    found = confirm_counts(turns)

    assert (found.verdict, found.within, found.by_turns) == (NOT_SHOWN, None, None)


def test_neighbouring_turns_are_compared_and_a_last_one_joins_the_pair_before_it():
    found = confirm_counts(counts(6, 1, 9, 4, 12))

    pairs = [
        CountPair(on_nok=6, on_checked=20, off_nok=1, off_checked=20),
        CountPair(on_nok=21, on_checked=40, off_nok=4, off_checked=20),
    ]
    assert found.within == more_when_on(pairs)
    assert found.pooled == more_when_on([CountPair(on_nok=27, on_checked=60, off_nok=5, off_checked=40)])


def test_a_drift_that_the_pairs_see_through_fools_the_pot_of_all_parts():
    """The defect fades from pair to pair; on the whole on has more parts from the bad days."""
    turns = [
        Turn(number=1, state=ON, checked=60, nok=30),
        Turn(number=2, state=OFF, checked=20, nok=10),
        Turn(number=3, state=ON, checked=20, nok=0),
        Turn(number=4, state=OFF, checked=60, nok=0),
    ]

    found = confirm_counts(turns)

    assert found.pooled < 0.01
    assert found.within > 0.5
    assert found.verdict == CONTRADICTED


@pytest.mark.parametrize(
    ("turns", "may_remain"),
    [
        (counts(6, 0, 6, 0, 6, 0), False),  # 0 of 60: at most 6 %
        (counts(6, 0, 6, 0, 6, 0, checked=10), True),  # 0 of 30: up to 12 %
        (counts(16, 1, 16, 1, 16, 1, checked=200), True),  # some are left
    ],
)
def test_what_may_remain_when_off_is_told_apart_from_the_proof(turns, may_remain):
    found = confirm_counts(turns)

    assert (found.verdict, found.may_remain) == (PROVED, may_remain)


@given(st.lists(st.tuples(st.integers(1, 9), st.integers(0, 9)), min_size=2, max_size=7), st.randoms())
def test_the_order_of_the_records_is_irrelevant(said, shuffler):
    turns = [
        Turn(number=n, state=ON if n % 2 else OFF, checked=checked, nok=min(nok, checked))
        for n, (checked, nok) in enumerate(said, start=1)
    ]
    shuffled = list(turns)
    shuffler.shuffle(shuffled)

    assert confirm_counts(shuffled) == confirm_counts(turns)


@given(st.lists(st.tuples(st.integers(1, 9), st.integers(0, 9)), min_size=2, max_size=7))
def test_on_and_off_exchanged_mirror_the_answer(said):
    turns = [
        Turn(number=n, state=ON if n % 2 else OFF, checked=checked, nok=min(nok, checked))
        for n, (checked, nok) in enumerate(said, start=1)
    ]

    found = confirm_counts(turns)
    mirror = confirm_counts([replace(t, state=OFF if t.state == ON else ON) for t in turns])

    assert (mirror.within, mirror.reverse, mirror.by_turns) == (
        found.reverse,
        found.within,
        found.by_turns,
    )
    assert (mirror.on, mirror.off) == (found.off, found.on)
    assert not (mirror.verdict == PROVED and found.verdict == PROVED)


@given(st.lists(st.tuples(st.integers(1, 9), st.integers(0, 8)), min_size=2, max_size=7), st.data())
def test_one_more_nok_when_on_never_weakens_the_proof_by_parts(said, data):
    turns = [
        Turn(number=n, state=ON if n % 2 else OFF, checked=checked, nok=min(nok, checked))
        for n, (checked, nok) in enumerate(said, start=1)
    ]
    place = data.draw(st.sampled_from(range(0, len(turns), 2)))
    one = turns[place]
    if one.nok == one.checked:
        return

    more = confirm_counts([*turns[:place], replace(one, nok=one.nok + 1), *turns[place + 1 :]])

    assert more.within <= confirm_counts(turns).within * (1 + 1e-12)


def test_measured_values_are_judged_on_both_sides():
    """Their side is not known beforehand: 4 turns on and 4 off, 2 in 70."""
    pairs = [(2.1, 2.3, 2.4), (1.1, 1.2, 1.4), (2.2, 2.2, 2.5), (1.3, 1.0, 1.1)]

    four, eight = (confirm_values(measured(*pairs * times), chance) for times in (1, 2))

    assert (four.verdict, four.by_turns, four.further) == (POINTS, Fraction(1, 3), 4)
    assert (eight.verdict, eight.by_turns, eight.is_more) == (PROVED, Fraction(1, 35), True)
    turned = confirm_values(measured(*(pairs[1:] + pairs[:1]) * 2), chance)
    assert (turned.verdict, turned.is_more, turned.within) == (PROVED, False, eight.within)


def test_measured_values_that_do_not_move_show_nothing_and_contradict_nothing():
    found = confirm_values(measured((1, 2), (1, 2), (2, 1), (2, 1)), chance)

    assert (found.verdict, found.within, found.are_apart) == (NOT_SHOWN, 1.0, False)


@pytest.mark.parametrize(
    "turns",
    [
        [Turn(number=1, state="half", checked=1)],
        [Turn(number=1, state=ON, checked=1), Turn(number=1, state=OFF, checked=1)],
        counts(3, 0, checked=2),
    ],
)
def test_turns_that_cannot_be_are_refused(turns):
    with pytest.raises(ValueError, match=r"must be|comes twice"):
        confirm_counts(turns)


# --- how often "proved" is wrong


@settings(max_examples=25)
@given(st.lists(st.integers(0, 12), min_size=6, max_size=6))
def test_whatever_the_turns_of_a_machine_give_at_most_1_order_in_20_proves_it(noks):
    """Where switching makes no difference all 720 orders of six results are equally likely."""
    orders = list(itertools.permutations(noks))
    found = {order: confirm_counts(counts(*order, checked=12)) for order in set(orders)}

    assert 20 * sum(found[order].verdict == PROVED for order in orders) <= len(orders)


def test_the_control_without_the_count_of_turns_is_wrong_in_1_order_of_6():
    orders = list(itertools.permutations((0, 3, 8, 12)))

    found = [confirm_counts(counts(*order, checked=12)) for order in orders]

    assert sum(map(without_count_of_turns, found)) == len(orders) / 6
    assert not any(one.verdict == PROVED for one in found)


@pytest.mark.parametrize("name", ["one share, 30 %", "turns differ, logit sd 1", "a drift"])
def test_simulated_confirmations_without_a_cause_are_proved_in_at_most_5_percent(name):
    many = 300

    proved, control = rates(NOTHING[name], many, most_turns=6, seed=7)

    assert proportion_interval(proved, many).low <= LEVEL
    assert proved <= control


def test_the_simulation_catches_the_control():
    proved, control = rates(NOTHING["turns differ, logit sd 3"], 300, most_turns=6, seed=7)

    assert proportion_interval(control, 300).low > LEVEL
    assert proportion_interval(proved, 300).low <= LEVEL


# --- the words


def sentence(turns):
    return on_off_sentence(confirm_counts(turns), "clamp pads")


@pytest.mark.parametrize(
    ("turns", "words"),
    [
        ([], "Nothing shown yet: no turn is done."),
        (counts(6), "Nothing shown yet: 6 of 20 NOK when on, no turn off. Switch it off."),
        (
            counts(6, 0, 7, 0, 5, 0),
            (
                "Proved: switching “clamp pads” made the defect come and go 3 times: 18 of 60 NOK when on, "
                "0 of 60 NOK when off. Every turn on has a greater share NOK than every turn off."
            ),
        ),
        (
            counts(16, 1, 17, 1, 15, 1),
            (
                "Proved: switching “clamp pads” raised and lowered the share NOK 3 times: 48 of 60 NOK "
                "when on, 3 of 60 NOK when off. Every turn on has a greater share NOK than every turn off."
            ),
        ),
        (
            counts(6, 0, 7, 0),
            (
                "Points that way, not proved: 13 of 40 NOK when on, 0 of 40 NOK when off. 2 turns on and 2 "
                "off stand apart like this by chance 1 time in 6. 2 more turns, on and off in turn, with "
                "results like the last ones would prove it."
            ),
        ),
        (
            counts(9, 1, 1, 0, 9, 0),
            (
                "Points that way, not proved: 19 of 60 NOK when on, 1 of 60 NOK when off. Turn 3 (on) and "
                "turn 2 (off) do not differ as the others do. Find out why, then begin a new confirmation: "
                "these turns can no longer prove it."
            ),
        ),
        (
            counts(2, 3),
            (
                "Contradicted: the defect came when it was off too, and no more of it when it was on: 2 of "
                "20 NOK when on, 3 of 20 NOK when off."
            ),
        ),
        (
            counts(0, 8),
            (
                "Contradicted: the defect came when it was off, and not when it was on: 0 of 20 NOK when "
                "on, 8 of 20 NOK when off."
            ),
        ),
        (
            counts(0, 0),
            "Not shown: the defect did not come at all: 0 of 20 NOK when on, 0 of 20 NOK when off.",
        ),
        (
            counts(1, 0, checked=1),
            (
                "Not shown: 1 of 1 NOK when on, 0 of 1 NOK when off; chance alone gives such a difference "
                "with p = 0.5. 1 turn on and 1 off stand apart like this by chance 1 time in 2. 7 more "
                "turns, on and off in turn, with results like the last ones would prove it."
            ),
        ),
    ],
)
def test_the_sentence_says_no_more_than_the_figures(turns, words):
    assert sentence(turns) == words


def test_the_sentence_of_measured_values_says_where_and_how_far():
    found = confirm_values(measured(*[(2.1, 2.3), (1.1, 1.2)] * 4), chance)

    assert on_off_sentence(found, "clamp force", "mm", 2) == (
        "Proved: switching “clamp force” moved the values and moved them back 4 times: mean 2.20 mm when "
        "on, mean 1.15 mm when off. The mean of every turn on is above that of every turn off."
    )


def test_the_lines_give_both_chances_and_what_remains():
    assert on_off_lines(confirm_counts(counts(6, 0, 7, 0, 5, 0))) == (
        "ON: 18 of 60 parts NOK, 18 % to 44 % (exact, two-sided 95 %).",
        "OFF: 0 of 60 parts NOK, 0 % to 6 % (exact, two-sided 95 %).",
        "By parts: p < 0.0001 (exact, one-sided, on against off in neighbouring turns).",
        "All parts in one pot: p < 0.0001 (Fisher, one-sided).",
        (
            "By turns: 3 turns on and 3 off all stand apart, as they did, 1 time in 20 if switching makes "
            "no difference."
        ),
        (
            "None was NOK when off: up to 6 % of the parts may be NOK when off (above 10 % another cause "
            "may remain)."
        ),
    )


def test_an_estimated_p_says_that_it_is_one():
    many = measured(*([v / 7 % 1 + on for v in range(40)] for on in (1, 0, 1, 0)))
    exactly = [replace(turn, values=tuple(round(v, 6) for v in turn.values)) for turn in many]

    lines = on_off_lines(confirm_values(exactly, chance))

    assert "from 9999 random shufflings, 95 % interval" in lines[0]


def test_the_notes_say_what_each_chance_takes_for_granted():
    notes = " ".join(on_off_notes(confirm_counts(counts(6, 0))))

    assert "A machine that drifts makes the parts of one turn alike" in notes
    assert "nothing else was changed along with the switch" in notes
    assert "not that it is the only one" in notes
    assert on_off_notes(confirm_counts(counts(6))) == ()
