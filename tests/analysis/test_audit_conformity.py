"""Conformity: counts with their exact intervals, against printed values and SciPy."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from tests.analysis.audits import done, done_audits, given_to
from walkapp.analysis.audits.conformity import conformity_of, conformity_results


@pytest.mark.parametrize(
    ("ok", "answers", "low", "high", "digits"),
    [
        # R reference manual, binom.test, inputs 682 of 925 (Conover 1971, p. 97); output of R.
        (682, 925, 0.7076683, 0.7654066, 7),
        # statsmodels' own test against R's binom.test, inputs 51 of 235; output of R.
        (51, 235, 0.16606333, 0.27526836, 8),
        # Newcombe (1998), Statistics in Medicine 17, 857-872, Table I, method 5: from memory. The first
        # two as NOK, so that the limits of OK are one minus those printed.
        (263 - 81, 263, 1 - 0.3676, 1 - 0.2527, 4),
        (20, 20, 1 - 0.1684, 1.0, 4),
        (1, 29, 0.0009, 0.1776, 4),
    ],
)
def test_intervals_agree_with_printed_ones(ok, answers, low, high, digits):
    found = conformity_of(["ok"] * ok + ["not_ok"] * (answers - ok))

    assert (found.interval.confidence, found.interval.sides) == (0.95, 2)
    assert found.interval.low == pytest.approx(low, abs=0.5001 * 10**-digits)
    assert found.interval.high == pytest.approx(high, abs=0.5001 * 10**-digits)


@given(st.integers(0, 400), st.integers(0, 400))
def test_intervals_agree_with_scipy(ok, nok):
    found = conformity_of(["ok"] * ok + ["not_ok"] * nok)

    if not ok + nok:
        assert found.interval is found.share is None
        return
    peer = scipy_stats.binomtest(ok, ok + nok).proportion_ci(0.95, method="exact")
    assert found.interval.low == pytest.approx(peer.low, rel=1e-7, abs=1e-12)
    assert found.interval.high == pytest.approx(peer.high, rel=1e-7, abs=1e-12)
    assert found.interval.low <= found.share <= found.interval.high


def test_not_applicable_is_counted_beside_and_changes_no_share():
    found = conformity_of(["ok", "ok", "not_ok", "not_applicable"])

    assert (found.judged, found.answers, found.share) == (3, 4, pytest.approx(2 / 3))
    assert found.share_not_applicable == 0.25
    assert found.interval == conformity_of(["ok", "ok", "not_ok"]).interval


def test_what_was_never_judged_has_no_share_and_comes_last():
    audits = [done(given_to("moulding/blade", "not_applicable"), given_to("packing/label"))]

    found = conformity_results(audits)

    assert [one.ref for one in found.by_question] == ["packing/label", "moulding/blade"]
    assert (found.by_question[1].conformity.share, found.by_question[1].conformity.interval) == (None, None)
    assert list(found.by_station) == ["packing", "moulding"]


def test_lowest_comes_first_and_of_equals_what_was_judged_more_often():
    answers = [
        given_to("moulding/blade", "not_ok"),
        *(given_to("packing/label", "not_ok") for _ in range(2)),
        given_to("leak-test/pads"),
    ]

    found = conformity_results([done(answer) for answer in answers])

    assert [one.ref for one in found.by_question] == ["packing/label", "moulding/blade", "leak-test/pads"]


def test_a_question_is_told_in_the_words_in_which_it_was_asked_last():
    early, late = (datetime(2026, 3, day, tzinfo=UTC) for day in (2, 9))
    audits = [
        done(given_to("moulding/blade", asked="New words?", at=late)),
        done(given_to("moulding/blade", asked="Old words?", at=early)),
    ]

    (found,) = conformity_results(audits).by_question

    assert (found.asked, found.conformity.ok) == ("New words?", 2)


def test_the_words_told_do_not_hang_on_an_id_that_happens_to_sort_high():
    moment = datetime(2026, 3, 9, tzinfo=UTC)
    audits = [done(given_to("moulding/blade", asked=f"Words {n}?", at=moment)) for n in range(2)]

    assert conformity_results(audits) == conformity_results(audits[::-1])


@pytest.mark.parametrize(
    ("not_applicable", "ok", "is_often"), [(3, 12, True), (2, 1, False), (3, 13, False), (9, 0, True)]
)
def test_often_not_applicable_needs_a_fifth_of_the_answers_and_three(not_applicable, ok, is_often):
    words = ["not_applicable"] * not_applicable + ["ok"] * ok
    (found,) = conformity_results([done(given_to("moulding/blade", word)) for word in words]).by_question

    assert found.is_often_not_applicable is is_often


@given(done_audits(), st.randoms(use_true_random=False))
def test_the_parts_add_up_and_the_order_changes_nothing(audits, chance):
    found = conformity_results(audits)

    every = [answer.answer for audit in audits for answer in audit.given]
    assert found.all == conformity_of(every)
    by_question = [one.conformity for one in found.by_question]
    for parts in (found.by_layer.values(), found.by_station.values(), by_question):
        for name in ("ok", "nok", "not_applicable"):
            assert sum(getattr(part, name) for part in parts) == getattr(found.all, name)
    shuffled = conformity_results(chance.sample(audits, len(audits)))
    assert shuffled == found
    assert list(shuffled.by_layer) == list(found.by_layer)
