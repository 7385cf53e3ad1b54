"""The balance of suspect parts: no part is lost, none counted twice, and nothing depends on the order."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.analysis.containment import (
    Account,
    Balance,
    Bout,
    missed_sentence,
    place_balance,
    range_against_onset,
    since_escape,
    sum_of,
)
from walkapp.analysis.onset import DatedTally, find_onset
from walkapp.analysis.results import Tally

parts = st.integers(0, 10_000)


@st.composite
def bouts(draw):
    """Bouts as records allow them."""
    checked = draw(parts)
    nok = draw(st.integers(0, checked))
    released = draw(st.integers(0, checked))
    return Bout(
        checked=checked,
        nok=nok,
        reworked=draw(st.integers(0, nok)),
        released=released,
        scrapped=draw(st.integers(0, checked - released)),
        scrapped_unsorted=draw(parts),
    )


works = st.lists(bouts(), max_size=6)
places = st.lists(st.tuples(parts, works), max_size=5)


@given(parts, works)
def test_every_part_is_in_just_one_state(quantity, work):
    found = place_balance(quantity, work)

    assert found.located + found.over == (
        found.to_sort + found.waiting + found.released + found.all_scrapped
    )  # fmt: skip
    assert not (found.over and found.to_sort)
    assert min(found.to_sort, found.over, found.waiting, found.released, found.all_scrapped) >= 0


@given(parts, works.flatmap(lambda work: st.tuples(st.just(work), st.permutations(work))))
def test_the_order_of_the_work_does_not_matter(quantity, orders):
    work, other = orders

    assert place_balance(quantity, work) == place_balance(quantity, other)


@given(places, st.none() | parts)
def test_all_places_together_conserve_the_parts_too(stocks, made):
    total = sum_of(place_balance(quantity, work) for quantity, work in stocks)
    account = Account(made=made, total=total)

    assert total.located + total.over == (
        total.to_sort + total.waiting + total.released + total.all_scrapped
    )  # fmt: skip
    assert sum_of(place_balance(quantity, work) for quantity, work in reversed(stocks)) == total
    if made is None:
        assert (account.unaccounted, account.surplus) == (None, 0)
    else:
        assert made == total.located + account.unaccounted - account.surplus
        assert min(account.unaccounted, account.surplus) == 0


def test_what_is_over_at_one_place_does_not_hide_what_is_to_sort_at_another():
    total = sum_of([place_balance(10, [Bout(checked=30)]), place_balance(20, [])])

    assert (total.located, total.over, total.to_sort, total.is_done) == (30, 20, 20, False)


@pytest.mark.parametrize(
    "bout",
    [
        Bout(checked=5, nok=6),
        Bout(checked=5, nok=2, reworked=3),
        Bout(checked=5, released=4, scrapped=2),
        Bout(checked=-1),
    ],
)
def test_a_bout_that_cannot_be_is_refused(bout):
    with pytest.raises(ValueError, match="must"):
        place_balance(10, [bout])


@pytest.mark.parametrize(
    ("made", "located", "sentence"),
    [
        (4800, 4488, "312 of 4,800 not accounted for"),
        (4800, 0, "4,800 of 4,800 not accounted for"),
        (4800, 4800, "All 4,800 accounted for"),
        (4800, 6000, "1,200 more located than were made (4,800)"),
        (None, 6000, "6,000 located, of how many is not known"),
    ],
)
def test_the_balance_is_said_in_words(made, located, sentence):
    assert Account(made=made, total=Balance(located=located)).sentence == sentence


def test_without_a_range_it_is_said_why_that_matters():
    account = Account(made=None, total=Balance(located=10, to_sort=10))

    (warning,) = account.warnings
    assert warning.startswith("It is not known how many parts could be bad. Without that number nobody")
    assert account.unaccounted is None


def test_more_located_than_made_and_more_sorted_than_located_are_warned_of():
    account = Account(made=10, total=place_balance(20, [Bout(checked=25)]))

    assert [warning.partition(":")[0] for warning in account.warnings] == [
        "More suspect parts were located than were made",
        "5 more sorted or scrapped than were located",
    ]


def test_the_share_found_and_the_nok_expected_among_the_rest_have_exact_limits():
    # 4 of 20: 0.0573 and 0.4366 two-sided (Clopper-Pearson, SciPy's binomtest). The rest: every number
    # of NOK parts tried against the hypergeometric distribution in tests/analysis/test_finite_lots.py.
    account = Account(made=60, total=place_balance(50, [Bout(checked=20, nok=4, released=16)]))

    assert account.total.share.low == pytest.approx(0.0573, abs=5e-5)
    assert account.total.share.high == pytest.approx(0.4366, abs=5e-5)
    assert account.not_sorted == 40
    assert account.found_sentence == "4 NOK of 20 sorted: 5 % to 44 % (exact, two-sided 95 %)"
    assert account.expected_sentence == (
        "Expected among the 40 not sorted yet: 1 to 19 NOK (exact, two-sided 95 %), if they are like those "
        "sorted."
    )


def test_nothing_is_expected_before_anything_is_sorted_and_when_nothing_is_left():
    assert Account(made=60, total=Balance(located=50, to_sort=50)).expected_sentence == ""
    done = Account(made=50, total=place_balance(50, [Bout(checked=50, nok=4, released=46, scrapped=4)]))
    assert (done.expected, done.expected_sentence) == ((0, 0), "")
    unknown = Account(made=None, total=place_balance(50, [Bout(checked=20, nok=4)]))
    assert unknown.expected_sentence.endswith("How many more parts are elsewhere is not known.")


def test_what_the_check_itself_lets_through_is_said():
    total = Balance(checked=900, nok=45)

    assert missed_sentence(total, 0.9).endswith("has missed about 5 while it found 45.")
    assert missed_sentence(Balance(checked=9, nok=1), 0.9).endswith("missed fewer than 1 while it found 1.")
    assert missed_sentence(total, 1.0) == missed_sentence(Balance(checked=900), 0.9) == ""


def onset_of(*rows):
    """Find the onset of rows of day and NOK of 20 parts."""
    return find_onset(
        [
            DatedTally(
                label=f"2026-02-{day}",
                day=f"2026-02-{day}",
                tallies=(Tally(checked=20, nok=nok, detection=0.9, false_alarm=0.005),),
            )
            for day, nok in rows
        ]
    )


def test_a_range_that_begins_after_the_onset_may_have_begun_is_warned_of():
    onset = onset_of((20, 0), (24, 0), (26, 9), (27, 10))

    assert range_against_onset("2026-02-24", onset) == (False, "")
    assert range_against_onset("2026-02-20", onset) == (False, "")
    is_short, warning = range_against_onset("2026-02-26", onset)
    assert not is_short
    assert warning.startswith("It may have started as early as 2026-02-24 (95 % interval)")
    is_short, warning = range_against_onset("2026-02-27", onset)
    assert is_short
    assert warning.startswith("The defect most likely started by 2026-02-26, before the first day")


def test_without_a_good_lot_it_may_have_started_at_any_time():
    is_short, warning = range_against_onset("2026-02-26", onset_of((26, 9), (27, 10)))

    assert not is_short
    assert warning.startswith("It may have started at any time before 2026-02-26")


def test_dates_out_of_order_and_an_onset_that_is_not_named_say_nothing_of_the_range():
    _, warning = range_against_onset("2026-02-20", onset_of((24, 0), (20, 9), (27, 10)))
    assert warning == "The range cannot be set against the onset: the dates of the lots are out of order."
    assert range_against_onset("2026-02-26", onset_of((24, 0), (26, 0))) == (False, "")


TODAY = date(2026, 3, 3)


@pytest.mark.parametrize(
    ("found_on", "reported_on", "days", "words"),
    [
        (["2026-02-27", "2026-02-20"], "2026-02-19", 4, "4 days since the last escape (2026-02-27)"),
        (["2026-03-03"], "", 0, "0 days since the last escape (2026-03-03)"),
        ([], "2026-03-02", 1, "No escape in the 1 day since the customer reported (2026-03-02)"),
        ([], "", None, "Days since the last escape: not known"),
        (["2026-03-04"], "2026-02-19", None, "The last bad parts are dated 2026-03-04, still to come"),
    ],
)
def test_the_days_since_the_last_escape_are_counted_or_said_not_to_be_known(
    found_on, reported_on, days, words
):
    counted, said = since_escape(TODAY, found_on, reported_on)

    assert counted == days
    assert said.startswith(words)
