"""What holds: corrections, withdrawals, conflicts, rings, and that order never matters.

No outside source exists for these rules; they are checked as laws over generated histories.
"""

from hypothesis import given
from hypothesis import strategies as st

from tests.builders import make, record_id
from walkapp.model.records import Count, Record, Withdrawal
from walkapp.model.standing import standing_of


def count(number: int, nok: int = 0, replaces: tuple[int, ...] = ()) -> Count:
    ids = tuple(record_id(other) for other in replaces)
    return make(Count, number, station="a", check="b", checked=20, nok=nok, replaces=ids)


def withdrawal(number: int, replaces: tuple[int, ...]) -> Withdrawal:
    return make(Withdrawal, number, replaces=tuple(record_id(other) for other in replaces))


def test_records_that_replace_nothing_all_hold():
    first, second = count(10), count(11)

    assert standing_of([second, first]).current == (first, second)


def test_a_correction_holds_instead_of_what_it_corrects():
    first, second, third = count(10, 1), count(11, 2, (10,)), count(12, 3, (11,))

    found = standing_of([third, first, second])

    assert found.current == (third,)
    assert found.conflicts == ()


def test_a_withdrawal_leaves_nothing():
    assert standing_of([count(10), withdrawal(11, (10,))]).current == ()


def test_two_corrections_of_one_record_are_a_conflict_and_both_are_kept():
    first, here, there = count(10, 1), count(11, 2, (10,)), count(12, 3, (10,))

    found = standing_of([first, there, here])

    assert found.current == (there,)
    assert found.conflicts[0].heads == (here, there)


def test_a_record_that_replaces_all_heads_settles_a_conflict():
    records = [count(10, 1), count(11, 2, (10,)), count(12, 3, (10,)), count(13, 2, (11, 12))]

    found = standing_of(records)

    assert found.current == (records[-1],)
    assert found.conflicts == ()


def test_a_correction_whose_original_is_not_here_yet_holds():
    late = count(11, 2, (10,))

    assert standing_of([late]).current == (late,)


def test_two_corrections_of_an_absent_record_are_a_conflict():
    assert len(standing_of([count(11, 2, (10,)), count(12, 3, (10,))]).conflicts) == 1


def test_a_ring_of_records_does_not_vanish():
    ring = [count(10, 1, (11,)), count(11, 2, (10,))]

    found = standing_of(ring)

    assert len(found.current) == 1
    assert found.conflicts[0].heads == tuple(ring)


def test_a_record_that_replaces_itself_holds():
    own = count(10, 1, (10,))

    assert standing_of([own]).current == (own,)


def test_a_ring_that_a_person_settled_is_no_conflict():
    settled = count(12, 5, (10, 11))

    found = standing_of([count(10, 1, (11,)), count(11, 2, (10,)), settled])

    assert found.current == (settled,)
    assert found.conflicts == ()


def test_the_same_id_with_other_content_is_a_conflict():
    found = standing_of([count(10, 1), count(10, 2)])

    assert len(found.current) == 1
    assert len(found.conflicts[0].heads) == 2


@st.composite
def histories(draw: st.DrawFn) -> list[Record]:
    """Small histories in which everything may replace anything, rings and twins included."""
    numbers = st.integers(10, 17)
    return draw(
        st.lists(
            st.one_of(
                st.builds(count, numbers, st.integers(0, 2), st.lists(numbers, max_size=2).map(tuple)),
                st.builds(withdrawal, numbers, st.lists(numbers, min_size=1, max_size=2).map(tuple)),
            ),
            max_size=8,
        )
    )


@given(histories(), st.randoms())
def test_order_and_repeats_never_matter(records, chance):
    shuffled = [*records, *records[:3]]
    chance.shuffle(shuffled)

    assert standing_of(shuffled) == standing_of(records)


@given(histories())
def test_nothing_vanishes_without_being_replaced_by_somebody_else(records):
    found = standing_of(records)

    seen = {*found.current, *(head for conflict in found.conflicts for head in conflict.heads)}
    for record in records:
        replaced = any(record.id in other.replaces and other.id != record.id for other in records)
        assert replaced or record in seen or isinstance(record, Withdrawal)
