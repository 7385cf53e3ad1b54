"""Whether an action worked: the words follow from an exact test and from the criterion alone."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats as scipy_stats

from walkapp.analysis.effect import (
    BETTER,
    EFFECTIVE,
    MET,
    MISSED,
    MOST_PARTS,
    NOT_SHOWN,
    OPEN,
    WORSE,
    PartsJudged,
    judge_effect,
    ok_parts_needed,
)


def judge(before, after, at_most=None):
    """Judge from pairs of NOK and checked."""
    return judge_effect(
        *(PartsJudged(nok=nok, checked=checked) for nok, checked in (before, after)), at_most
    )


@pytest.mark.parametrize(
    ("before", "after", "at_most", "verdict", "criterion", "words"),
    [
        ((12, 60), (0, 59), 0.05, EFFECTIVE, MET, "Effective: fewer NOK than before, and at most 5 %"),
        ((12, 60), (0, 60), None, EFFECTIVE, "", "Effective by the test alone: no criterion is stated."),
        ((12, 60), (0, 58), 0.05, BETTER, OPEN, "criterion not shown yet: 1 more OK part would show it."),
        # One NOK among 93 parts shows 5 %: check-values 1b, table of c-failure sample sizes.
        ((12, 60), (1, 60), 0.05, BETTER, OPEN, "Better, criterion not shown yet: 33 more OK parts would"),
        ((50, 100), (20, 100), 0.01, BETTER, MISSED, "with 95 % confidence more than 1 % are NOK."),
        ((12, 60), (0, 60), 0.0, BETTER, OPEN, "no number of parts can show 0 %; state a share above 0."),
        ((0, 60), (0, 60), 0.05, NOT_SHOWN, MET, "no part was NOK before, so that nothing could get"),
        ((0, 60), (2, 60), None, NOT_SHOWN, "", "no part was NOK before"),
        ((3, 60), (3, 60), 0.05, NOT_SHOWN, OPEN, "the same share of NOK as before; 268 more OK parts"),
        ((3, 60), (1, 60), None, NOT_SHOWN, "", "may be chance; 119 more OK parts would show it."),
        ((2, 100), (5, 100), None, NOT_SHOWN, "", "NOK is higher than before, which may be chance."),
        # 6 of 60: one-sided 95 % at least 4.4 %, while the two-sided limit is 3.8 %; output of SciPy.
        ((30, 60), (6, 60), 0.04, BETTER, MISSED, "with 95 % confidence more than 4 % are NOK."),
        ((5, 5), (5, 5), 0.05, NOT_SHOWN, MISSED, "Not shown, and the criterion is not met"),
        ((2, 100), (12, 100), 0.05, WORSE, MISSED, "Worse: more NOK than before."),
        # 3 of 3 against 0 of 3 has p = 1/20 exactly, which is not below 5 %: check-values, trap T10.
        ((3, 3), (0, 3), None, NOT_SHOWN, "", "1 more OK part would show it."),
        ((3, 3), (0, 4), None, EFFECTIVE, "", "Effective by the test alone"),
        ((1, 1_000_000), (0, 1), None, NOT_SHOWN, "", "1,000,000 parts would not show it."),
    ],
)  # fmt: skip
def test_the_words_say_what_the_parts_support(before, after, at_most, verdict, criterion, words):
    found = judge(before, after, at_most)

    assert (found.verdict, found.criterion) == (verdict, criterion)
    assert words in found.sentence


def test_the_lines_name_every_method_and_its_sides():
    found = judge((12, 60), (1, 60), 0.05)

    assert found.lines == (
        "Before 12 of 60 NOK (20.0 %); after 1 of 60 NOK (1.7 %).",
        "Fewer NOK after: p = 0.0011 (Fisher's exact test, one-sided).",
        "Drop: 7.4 to 30.2 percentage points (95 %, two-sided, Newcombe's method 10).",
        "Now at most 8 % NOK (exact, one-sided 95 %); wanted 5 %.",
    )
    assert judge((20, 60), (1, 9_999)).lines[0].endswith("after 1 of 9,999 NOK (<0.1 %).")
    assert judge((2, 100), (12, 100)).lines[1].startswith("More NOK after: p = 0.0051")


@pytest.mark.parametrize(
    ("share", "parts"),
    # Success run, 95 % confidence, no NOK: check-values, section 1b (widely printed, from memory).
    [(0.20, 14), (0.15, 19), (0.10, 29), (0.05, 59), (0.03, 99), (0.02, 149), (0.01, 299), (0.001, 2995)],
)
def test_before_the_check_the_criterion_says_how_many_parts(share, parts):
    assert ok_parts_needed(None, share) == parts


def test_where_nothing_says_how_many_none_is_said():
    nothing_before = PartsJudged(checked=60, nok=0)

    assert ok_parts_needed(None, None) is None
    assert ok_parts_needed(None, 0.0) is None
    assert ok_parts_needed(nothing_before, 0.05) is None
    assert ok_parts_needed(None, 0.000000001) is None


@pytest.mark.parametrize("at_most", [-0.1, 1.0, float("nan")])
def test_an_impossible_criterion_is_refused(at_most):
    with pytest.raises(ValueError, match="at_most must be"):
        judge((1, 5), (0, 5), at_most)


sides = st.one_of(st.integers(1, 40), st.integers(1, 3_000)).flatmap(
    lambda n: st.tuples(st.one_of(st.integers(0, n), st.integers(0, min(n, 3))), st.just(n))
)
criteria = st.sampled_from([None, 0.0, 0.001, 0.01, 0.05, 0.1, 0.5])


@settings(max_examples=150)
@given(before=sides, after=sides, at_most=criteria)
def test_the_verdict_is_what_scipy_says_and_exactly_one(before, after, at_most):
    found = judge(before, after, at_most)
    table = [[after[0], after[1] - after[0]], [before[0], before[1] - before[0]]]
    fewer = scipy_stats.fisher_exact(table, alternative="less").pvalue
    more = scipy_stats.fisher_exact(table, alternative="greater").pvalue
    high = scipy_stats.binomtest(*after, alternative="less").proportion_ci(0.95).high
    low = scipy_stats.binomtest(*after, alternative="greater").proportion_ci(0.95).low

    assert (found.p_fewer, found.p_more) == (pytest.approx(fewer, abs=1e-9), pytest.approx(more, abs=1e-9))
    assert found.after_limit.high == pytest.approx(high, rel=1e-6)
    if at_most is not None and abs(low - at_most) > 1e-9:
        assert (found.criterion == MISSED) == (low > at_most)
    if found.verdict == EFFECTIVE:
        assert fewer < 0.05 and (at_most is None or high <= at_most * (1 + 1e-6))
    elif found.verdict == BETTER:
        assert fewer < 0.05 and at_most is not None and high > at_most * (1 - 1e-6)
    elif found.verdict == WORSE:
        assert more < 0.05 and after[0] * before[1] > before[0] * after[1]
    else:
        assert min(fewer, more) >= 0.05 - 1e-9


@settings(max_examples=60)
@given(before=sides, after=sides, at_most=criteria)
def test_so_many_more_ok_parts_make_it_effective_and_one_fewer_does_not(before, after, at_most):
    found = judge(before, after, at_most)
    if found.more_ok is None:
        return
    assert found.verdict in (BETTER, NOT_SHOWN)
    assert 0 < found.more_ok <= MOST_PARTS

    assert judge(before, (after[0], after[1] + found.more_ok), at_most).verdict == EFFECTIVE
    assert judge(before, (after[0], after[1] + found.more_ok - 1), at_most).verdict != EFFECTIVE
