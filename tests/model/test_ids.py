"""Ids: the layout of RFC 9562, and that they rise whatever the clock does."""

from hypothesis import given
from hypothesis import strategies as st

from walkapp.model.ids import IdMaker, RisingIds, compose_uuid7


def test_the_example_of_the_standard_comes_out():
    # RFC 9562, appendix A.6: timestamp 017F22E279B0, rand_a CC3, rand_b 18C4DC0C0C07398F.
    made = compose_uuid7(0x017F22E279B0, 0xCC3, 0x18C4DC0C0C07398F)

    assert made == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


@given(st.lists(st.integers(-10, 2**48 + 10), min_size=2, max_size=50))
def test_ids_rise_whatever_the_clock_does(clock):
    times = iter(clock)
    maker = IdMaker(lambda: next(times), lambda bits: 2**bits - 1)

    made = [maker() for _ in clock]

    assert made == sorted(set(made))


def test_more_ids_than_a_counter_holds_still_rise_within_one_millisecond():
    maker = IdMaker(lambda: 1_000, lambda bits: 2**bits - 1)

    made = [maker() for _ in range(5_000)]

    assert made == sorted(set(made))


@given(
    st.lists(st.lists(st.integers(0, 2**48 - 1), min_size=1, max_size=10), min_size=2, max_size=6),
    st.integers(0, 2**62 - 1),
)
def test_ids_rise_through_restarts_whatever_the_clock_does(runs, chance):
    newest, made = "", []
    for clock in runs:
        times = iter(clock)
        maker = RisingIds(IdMaker(lambda times=times: next(times), lambda bits: chance % 2**bits), newest)
        made += [maker() for _ in clock]
        newest = made[-1]

    assert made == sorted(set(made))


def test_behind_the_last_id_of_all_the_fresh_one_is_taken():
    last = compose_uuid7(2**48 - 1, 4095, 0)

    assert RisingIds(lambda: "0" * 8, last)() == "0" * 8
