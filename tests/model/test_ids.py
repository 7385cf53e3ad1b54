"""Ids: the layout of RFC 9562, and that they rise whatever the clock does."""

from hypothesis import given
from hypothesis import strategies as st

from walkapp.model.ids import IdMaker, compose_uuid7


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
