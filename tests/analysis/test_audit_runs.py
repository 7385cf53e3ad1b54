"""No NOK at all, and long runs of OK or N/A, where others answer otherwise."""

from __future__ import annotations

import itertools
import math
from collections import Counter

import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analysis.lettered_audits import audit, layer_of
from walkapp.analysis.audits.runs import (
    LONG_RUN,
    NEVER_NOK,
    SAME_REASON,
    chance_of_none,
    not_applicable_looks,
    ok_looks,
)
from walkapp.analysis.audits.signs import signs_of
from walkapp.analysis.audits.strata import Answers, Strata, in_order


def grouped(done):
    groups = {}
    for one in in_order(done):
        groups.setdefault(one.layer, []).append(one)
    return {group: tuple(audits) for group, audits in groups.items()}


def look(looks_of, done, group):
    groups = grouped(done)
    found = looks_of(groups, list(groups), Strata(done, layer_of))
    return next((one for one in found if one.group == group), None)


def table(own, others, nok):
    """The answers of a group without a NOK, and of all with it."""
    return Answers(ok=own), Answers(ok=own + others - nok, nok=nok)


# --------------------------------------------------------------------------------- never NOK


@pytest.mark.parametrize(
    ("own", "others", "nok", "p"),
    [
        # All four right, one-sided: 1 in 70 (Fisher, The Design of Experiments, 1935; from memory).
        (4, 4, 4, 1 / 70),
        # 0 of 500 against 5 of 1000, one-sided: inputs from M. Baudin, "The Most Basic Problem in Quality"
        # (2022); output of SciPy and R.
        (500, 1000, 5, 0.13124792),
        (5, 5, 0, 1.0),
    ],
)
def test_no_nok_in_one_place_is_fishers_test(own, others, nok, p):
    assert chance_of_none([table(own, others, nok)]) == pytest.approx(p, abs=5e-9)


tables = st.lists(
    st.integers(1, 6).flatmap(
        lambda own: st.integers(0, 6).flatmap(
            lambda others: st.integers(0, others).map(lambda nok: table(own, others, nok))
        )
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=80, deadline=None)
@given(places=tables)
def test_no_nok_agrees_with_scipy_place_by_place(places):
    expected = math.prod(
        scipy.stats.hypergeom.pmf(0, total.judged, total.nok, own.judged) for own, total in places
    )

    assert chance_of_none(places) == pytest.approx(expected, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(
    places=st.lists(
        st.tuples(st.integers(1, 3), st.integers(0, 2), st.integers(0, 2)), min_size=1, max_size=3
    )
)
def test_no_nok_is_the_share_of_all_ways_to_deal_out_the_nok(places):
    places = [(own, others, min(nok, others)) for own, others, nok in places]
    without = total = 0
    for dealt in itertools.product(
        *(list(itertools.combinations(range(own + others), nok)) for own, others, nok in places)
    ):
        total += 1
        without += all(
            answer >= own for (own, _, _), noks in zip(places, dealt, strict=True) for answer in noks
        )

    assert chance_of_none([table(*place) for place in places]) == pytest.approx(without / total, rel=1e-12)


def weeks(letters_of, audits=10, questions=6):
    """Give each group one audit a week: `letters_of` maps a group and a week to answers."""
    done = []
    for week in range(audits):
        for number, (group, letters) in enumerate(letters_of(week).items()):
            done.append(audit(10 * week + number, group, letters[:questions], day=7 * week))
    return done


def test_a_group_without_nok_is_invited_to_look_together_where_others_find_them():
    done = weeks(lambda week: {"A": "oooooo", "B": "nooono", "C": "nooonn", "D": "nooono"})

    (prompt,) = signs_of(done, layer_of)

    assert (prompt.kind, prompt.where) == (NEVER_NOK, "A")
    assert "Worth looking together with A: 0 of 60 NOK, where others found 70 of 180 NOK" in prompt.sentence
    # Each week two questions have 3 NOK of 4 and one has 1 of 4, and A has one answer to each. Times four,
    # since each of the other groups could have had no NOK as well.
    assert prompt.p == pytest.approx(4 * (1 / 4 * 1 / 4 * 3 / 4) ** 10, rel=1e-9)


def test_where_all_is_ok_nothing_is_told():
    assert signs_of(weeks(lambda week: dict.fromkeys("ABCD", "oooooo")), layer_of) == ()


def test_a_defect_that_is_mended_accuses_nobody_who_came_later():
    # B found NOK for five weeks; then it was mended, and A came for the first time.
    done = weeks(
        lambda week: {"B": "nnoooo", "C": "nooooo"} if week < 10 else {"A": "oooooo", "B": "oooooo"}, 20
    )

    assert look(ok_looks, done, "A") is None
    assert signs_of(done, layer_of) == ()


def test_one_group_alone_or_one_audit_alone_says_nothing():
    alone = weeks(lambda week: {"A": "ononoo"})

    assert signs_of(alone, layer_of) == ()
    assert signs_of(alone[:1], layer_of) == ()
    assert signs_of([], layer_of) == ()


def test_few_audits_are_not_looked_at():
    done = weeks(lambda week: {"A": "oooooo", "B": "nnnnnn"}, audits=4)

    assert look(ok_looks, done, "A") is None


def test_answers_not_applicable_neither_lengthen_nor_break_a_run():
    with_them = weeks(lambda week: {"A": "o-o-oooo"[:8], "B": "nonoonoo", "C": "oonoonno"}, questions=8)
    refs = [f"a/{place}" for place in (1, 3, 5, 6, 7, 8)]
    without = [
        audit(
            10 * week + number,
            group,
            letters,
            day=7 * week,
            refs=refs,
        )
        for week in range(10)
        for number, (group, letters) in enumerate({"A": "oooooo", "B": "nnonoo", "C": "onnono"}.items())
    ]

    first, second = look(ok_looks, with_them, "A"), look(ok_looks, without, "A")

    assert first.tell(0.01, 1).sentence.startswith("Worth looking together with A: 0 of 60 NOK")
    assert second.tell(0.01, 1).sentence.startswith("Worth looking together with A: 0 of 60 NOK")


def test_an_audit_on_paper_counts_here():
    done = weeks(lambda week: {"A": "oooooo", "B": "nooono", "C": "nooonn", "D": "nooono"})
    on_paper = [
        audit(10 * week, "A", "oooooo", day=7 * week, is_paper=True) if one.layer == "A" else one
        for week in range(10)
        for one in done[4 * week : 4 * week + 4]
    ]

    assert signs_of(on_paper, layer_of) == signs_of(done, layer_of)


# --------------------------------------------------------------------------------- runs of OK


def test_a_run_of_ok_has_the_chance_of_all_dealings_of_the_nok_that_hold_one():
    # A answers each question once a week; others' NOK are given. Enumerated over who has them.
    letters = {
        0: ("nooo", "onoo"),
        1: ("oooo", "noon"),
        2: ("oooo", "oonn"),
        3: ("oooo", "noon"),
        4: ("oono", "onno"),
    }
    done = weeks(lambda week: {"A": letters[week][0], "B": letters[week][1]}, audits=5, questions=4)
    shares = []
    for week in range(5):
        pairs = zip(*letters[week], strict=True)
        shares += [sum(letter == "o" for letter in pair) / 2 for pair in pairs]
    ways = [(1,) if share == 1 else (0,) if share == 0 else (0, 1) for share in shares]
    outcomes = list(itertools.product(*ways))
    longest = 17  # from the second answer of the first week to the second of the last
    with_run = sum(any(all(o[i : i + longest]) for i in range(20 - longest + 1)) for o in outcomes)

    found = look(ok_looks, done, "A")

    assert found.p == pytest.approx(with_run / len(outcomes), rel=1e-12)
    prompt = found.tell(0.02, 3)
    assert prompt.kind == LONG_RUN
    assert "17 answers one after the other are OK, 2026-03-02 to 2026-03-30" in prompt.sentence
    assert "answered OK throughout: 3." in prompt.lines[1]


def test_many_weeks_of_ok_after_weeks_with_nok_are_told():
    done = weeks(
        lambda week: {"A": "oonoon" if week < 5 else "oooooo", "B": "nonoon", "C": "onoono", "D": "nooonn"},
        25,
    )

    kinds = {(prompt.kind, prompt.where) for prompt in signs_of(done, layer_of)}

    assert kinds == {(LONG_RUN, "A")}


# -------------------------------------------------------------------------------- runs of N/A


def test_visits_not_applicable_for_the_same_reason_one_after_the_other_are_told():
    done = weeks(
        lambda week: {
            "A": "------" if 3 <= week < 9 else "oooooo",
            "B": "oooooo",
            "C": "oooooo",
            "D": "ooo-oo",
        },
        12,
    )

    (prompt,) = signs_of(done, layer_of)

    assert (prompt.kind, prompt.where) == (SAME_REASON, "A")
    assert "6 visits one after the other are N/A for the same reason (stands still)" in prompt.sentence
    assert "others answered 102 of 108 of the same questions in the same weeks OK or NOK" in prompt.sentence
    assert look(not_applicable_looks, done, "B").p == 1.0


def test_a_station_that_stands_still_for_all_is_nothing_to_tell():
    done = weeks(lambda week: dict.fromkeys("ABCD", "------" if 3 <= week < 9 else "oooooo"), 12)

    assert signs_of(done, layer_of) == ()


def test_other_reasons_break_a_run():
    def done(reasons):
        return [
            audit(
                10 * week + number,
                group,
                "---" if group == "A" and week < 6 else "ooo",
                day=7 * week,
                reason=reasons[week % len(reasons)],
            )
            for week in range(10)
            for number, group in enumerate("ABC")
        ]

    same = look(not_applicable_looks, done(["still"]), "A")
    turned = look(not_applicable_looks, done(["still", "no parts"]), "A")

    assert same.p == pytest.approx((1 / 3) ** 6)
    assert turned.p > 0.9


def test_stations_of_one_audit_that_stand_still_count_once():
    refs = ["a/1", "a/2", "b/1", "b/2"]
    done = [
        audit(
            10 * week + number,
            group,
            "----" if group == "A" and 2 <= week < 5 else "oooo",
            day=7 * week,
            refs=refs,
        )
        for week in range(8)
        for number, group in enumerate("AB")
    ]

    found = look(not_applicable_looks, done, "A")

    # Six visits in a row, of three audits: one half for each audit, not for each visit.
    assert found.p == pytest.approx(1 / 8, rel=1e-12)


# ------------------------------------------------------------------------------------- laws


letters = st.text("ooonn-", min_size=4, max_size=4)
audits_of_groups = st.lists(
    st.tuples(st.sampled_from("ABC"), letters, st.integers(0, 20)), min_size=1, max_size=40
)


@settings(max_examples=60, deadline=None)
@given(chosen=audits_of_groups, random=st.randoms(use_true_random=False))
def test_the_order_of_the_records_and_the_names_of_the_groups_do_not_matter(chosen, random):
    done = [audit(number, group, answers, day=day) for number, (group, answers, day) in enumerate(chosen)]
    shuffled = list(done)
    random.shuffle(shuffled)
    other = {"A": "Zed", "B": "Yot", "C": "Xen"}

    def figures(audits, by):
        groups = {}
        for one in in_order(audits):
            groups.setdefault(by(one), []).append(one)
        strata = Strata(audits, by)
        looks = [*ok_looks(groups, groups, strata), *not_applicable_looks(groups, groups, strata)]
        return Counter((one.group, round(one.p, 12), round(one.least, 12)) for one in looks)

    assert signs_of(shuffled, layer_of) == signs_of(done, layer_of)
    assert all(0.0 < p <= 1.0 and least <= p + 1e-12 for _, p, least in figures(done, layer_of))
    renamed = figures(done, lambda one: other[one.layer])
    assert renamed == Counter({(other[g], p, q): n for (g, p, q), n in figures(done, layer_of).items()})


def test_among_all_dealings_of_the_nok_every_p_is_exactly_as_frequent_as_it_says():
    # Five weeks of four questions; in nine places one of two answers is NOK, and either may be the one.
    places = [(week, question) for week in range(5) for question in range(2)][:9]
    found = []
    for of_a in itertools.product((True, False), repeat=len(places)):
        noks = dict(zip(places, of_a, strict=True))
        done = weeks(
            lambda week, noks=noks: {
                group: "".join("n" if noks.get((week, q)) is (group == "A") else "o" for q in range(4))
                for group in "AB"
            },
            audits=5,
        )
        found.append(look(ok_looks, done, "A").p)

    for p in set(found):
        assert sum(other <= p * (1 + 1e-9) for other in found) == pytest.approx(p * len(found), rel=1e-9)
