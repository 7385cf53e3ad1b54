"""The pace of audits: an exact probability, a size, and what does not count as quick."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analysis.lettered_audits import audit, layer_of
from walkapp.analysis.audits.pace import PACE, chance_so_quick, pace_looks
from walkapp.analysis.audits.signs import signs_of
from walkapp.analysis.audits.strata import in_order

FOUR = ["a/1", "a/2", "a/3", "a/4"]


def paced(times_of, audits=8, refs=None):
    """Give each group an audit a day; `times_of` maps a group and the number of its audit to seconds."""
    done = []
    for day in range(audits):
        for number, group in enumerate(times_of):
            times = times_of[group](day)
            done.append(audit(10 * day + number, group, "o" * len(times), day=day, refs=refs, times=times))
    return done


def looks(done):
    groups = {}
    for one in in_order(done):
        groups.setdefault(one.layer, []).append(one)
    found, prompts = pace_looks(groups, list(groups))
    return {look.group: look for look in found}, prompts


def usual(day):
    return [60.0, 20.0 + day % 3, 30.0, 24.0 + day % 2]


def quick(day):
    return [9.0, 3.0, 4.0 + day % 2, 3.0]


# ------------------------------------------------------------------------------ probability


@pytest.mark.parametrize(
    ("own", "others", "ways"),
    [(2, 2, 6), (3, 2, 10), (3, 3, 20), (4, 3, 35), (4, 4, 70), (5, 5, 252), (6, 6, 924)],
)
def test_complete_separation_is_one_of_all_choices(own, others, ways):
    # Counting argument; 3 and 3 equals the smallest one-sided rank-sum probability (Mann and Whitney 1947).
    assert chance_so_quick(own, own, own, own + others) == pytest.approx(1 / ways, rel=1e-12)


@settings(max_examples=150, deadline=None)
@given(
    audits=st.integers(1, 40), others=st.integers(1, 80), all_quick=st.integers(0, 120), at=st.floats(0, 1)
)
def test_the_chance_is_scipys_hypergeometric_tail(audits, others, all_quick, at):
    all_quick = min(all_quick, audits + others)
    low, high = max(0, all_quick - others), min(audits, all_quick)
    seen = low + round(at * (high - low))

    expected = scipy.stats.hypergeom.sf(seen - 1, audits + others, audits, all_quick)

    assert chance_so_quick(seen, audits, all_quick, audits + others) == pytest.approx(expected, rel=1e-8)


def test_the_chance_of_a_look_is_that_of_all_choices_of_its_audits():
    pace = {"A": [3, 5, 4, 9, 6, 4], "B": [7, 8, 5, 12, 15, 11]}
    done = paced(
        {g: lambda day, g=g: [30.0] + [float(pace[g][day])] * 3 for g in pace}, audits=6, refs=FOUR
    )
    every = pace["A"] + pace["B"]
    cut = sorted(every)[5]
    seen = sum(value <= cut for value in pace["A"])
    chosen = list(itertools.combinations(every, 6))

    found, _ = looks(done)

    as_quick = sum(sum(value <= cut for value in some) >= seen for some in chosen)
    assert found["A"].p == pytest.approx(as_quick / math.comb(12, 6), rel=1e-12)


# ------------------------------------------------------------------------------------- told


def test_a_group_that_is_several_times_as_quick_is_invited_to_walk_together():
    done = paced({"A": quick, "B": usual, "C": usual}, refs=FOUR)

    (prompt,) = signs_of(done, layer_of)

    assert (prompt.kind, prompt.where) == (PACE, "A")
    assert prompt.sentence == (
        "Worth walking one audit together with A: an answer typically comes after 3.0 s, where 25 s are "
        "usual: 14 % of the time that the same questions take others, in 8 audits."
    )
    assert prompt.lines[0].startswith(
        "Of the 8 quickest of all 24 audits 8 are among these 8: exact, one-sided"
    )
    # Each group could have been the quickest, so there are three looks.
    assert prompt.p == pytest.approx(3 / math.comb(24, 8), rel=1e-9)


def test_half_the_time_is_not_told_however_sure_it_is():
    done = paced(
        {"A": lambda day: [t / 2 for t in usual(day)], "B": usual, "C": usual}, audits=40, refs=FOUR
    )

    found, _ = looks(done)

    assert found["A"].p < 1e-20
    assert found["A"].tell(1e-20, 3) is None
    assert signs_of(done, layer_of) == ()


def test_who_looks_at_all_first_and_taps_then_is_not_told():
    # The first answer of the station holds all the looking: 60 s of way and 72 s of looking.
    done = paced({"A": lambda _: [132.0, 1.0, 1.0, 1.0], "B": usual, "C": usual}, audits=40, refs=FOUR)

    found, _ = looks(done)

    assert found["A"].p < 1e-20
    assert signs_of(done, layer_of) == ()


def test_who_looks_first_and_is_practised_too_is_not_told():
    # 45 s of way and 54 s of looking, a quarter less than others, all before the first answer.
    done = paced({"A": lambda _: [99.0, 1.0, 1.0, 1.0], "B": usual, "C": usual}, audits=40, refs=FOUR)

    assert signs_of(done, layer_of) == ()


def test_who_walks_to_the_station_and_does_not_look_is_told():
    # 45 s of way; others need 15 s more for the first look, and 72 s for the others.
    done = paced({"A": lambda _: [47.0, 3.0, 3.0, 3.0], "B": usual, "C": usual}, audits=10, refs=FOUR)

    (prompt,) = signs_of(done, layer_of)

    assert (prompt.kind, prompt.where) == (PACE, "A")
    # 56 s of 60 + 21 + 30 + 24.5 s.
    assert "less than one half: 42 %" in prompt.lines[2]


def test_the_way_to_a_station_is_left_out():
    refs = ["a/1", "b/1", "b/2", "c/1", "c/2", "c/3"]
    done = paced(
        {
            "A": lambda _: [5.0, 5.0, 25.0, 5.0, 25.0, 25.0],
            "B": lambda _: [200.0, 200.0, 25.0, 200.0, 25.0, 25.0],
        },
        audits=20,
        refs=refs,
    )

    found, _ = looks(done)

    assert (found["A"].p, found["B"].p) == (1.0, 1.0)


def test_a_question_that_takes_long_is_compared_with_itself():
    # A is asked the quick question, B the slow one; both answer the other as quickly as the other does.
    refs = {"A": ["a/1", "a/2", "a/2", "a/3"], "B": ["a/1", "a/2", "a/3", "a/3"]}
    times = {"A": [9.0, 5.0, 5.0, 90.0], "B": [9.0, 5.0, 90.0, 90.0]}
    done = [
        audit(10 * day + n, group, "oooo", day=day, refs=refs[group], times=times[group])
        for day in range(20)
        for n, group in enumerate("AB")
    ]

    found, _ = looks(done)

    assert {look.p for look in found.values()} == {1.0}


def test_an_interruption_does_not_hide_or_make_a_pace():
    def broken(times):
        return lambda day: [*times(day)[:2], 40_000.0, times(day)[3]]

    quick_broken = paced({"A": broken(quick), "B": usual, "C": usual}, audits=20, refs=FOUR)
    others_broken = paced({"A": usual, "B": broken(usual), "C": usual}, audits=20, refs=FOUR)

    assert looks(quick_broken)[0]["A"].p < 1e-12
    assert signs_of(others_broken, layer_of) == ()


def test_paper_and_a_clock_that_went_back_give_no_pace():
    on_paper = paced({"A": quick, "B": usual}, refs=FOUR)
    on_paper = [replace(one, is_paper=one.layer == "A") for one in on_paper]
    went_back = paced({"A": lambda _: [9.0, None, None, 1.0], "B": usual}, refs=FOUR)

    assert looks(on_paper)[1] == []
    assert looks(on_paper)[0] == {}
    assert looks(went_back)[1] == []
    assert looks(went_back)[0] == {}


def test_times_that_nobody_can_have_measured_do_no_harm():
    odd = [9.0, float("nan"), float("inf"), 0.0]
    done = paced({"A": lambda _: odd, "B": lambda _: [0.0] * 4, "C": usual}, refs=FOUR)

    assert isinstance(signs_of(done, layer_of), tuple)


# ------------------------------------------------------------------------------- no others


def test_a_group_alone_is_compared_with_the_checklist_without_a_probability():
    done = paced({"A": quick}, refs=FOUR)

    (prompt,) = signs_of(done, layer_of)

    assert prompt.p is None
    assert prompt.sentence == (
        "Worth walking one audit together with A: an answer typically comes after 3.0 s, where 30 s are "
        "usual: 10 % of the time that the checklist gives to the questions, in 8 audits."
    )
    assert any("Compared with the checklist" in line for line in prompt.lines)


def test_a_group_alone_that_takes_its_time_or_has_few_audits_is_not_told():
    assert signs_of(paced({"A": usual}, refs=FOUR), layer_of) == ()
    assert signs_of(paced({"A": quick}, audits=4, refs=FOUR), layer_of) == ()


# ------------------------------------------------------------------------------------- laws

some_times = st.lists(
    st.tuples(
        st.sampled_from("ABC"),
        st.lists(
            st.one_of(st.none(), st.sampled_from([0.0, 1.0, 2.0, 5.0, 20.0, 60.0])), min_size=3, max_size=5
        ),
    ),
    min_size=1,
    max_size=40,
)


@settings(max_examples=60, deadline=None)
@given(chosen=some_times, unit=st.sampled_from([2.0, 0.25]), random=st.randoms(use_true_random=False))
def test_the_order_of_the_records_and_the_unit_of_time_do_not_matter(chosen, unit, random):
    def made(factor=1.0):
        return [
            audit(n, group, "o" * len(times), times=[t if t is None else t * factor for t in times])
            for n, (group, times) in enumerate(chosen)
        ]

    def figures(done):
        return {group: look.p for group, look in looks(done)[0].items()}

    shuffled = made()
    random.shuffle(shuffled)

    assert figures(shuffled) == figures(made())
    assert figures(made(unit)) == figures(made())
    assert all(0.0 < look.least <= look.p <= 1.0 for look in looks(made())[0].values())
