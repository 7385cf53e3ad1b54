"""Numbers in sentences, never rounded towards the comfortable side."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal


def percent(probability: float) -> str:
    """Write a probability, cut off: 0.9497 is "94 %", so that nothing looks surer than it is.

    Parameters
    ----------
    probability
        0 to 1.

    Returns
    -------
    str
        Whole percent; one decimal below 1 % and from 99 % on; never 0 % and never 100 %.

    Examples
    --------
    >>> percent(0.9497), percent(0.29), percent(0.9996), percent(0.0)
    ('94 %', '29 %', '>99.9 %', '<0.1 %')
    """
    return _percent(probability, ROUND_FLOOR)


def percent_at_most(share: float) -> str:
    """Write an upper limit, rounded up: 0.1391 is "14 %".

    Parameters
    ----------
    share
        0 to 1.

    Returns
    -------
    str
        As :func:`percent`, rounded up.

    Examples
    --------
    >>> percent_at_most(0.1391), percent_at_most(0.00041)
    ('14 %', '<0.1 %')
    """
    return _percent(share, ROUND_CEILING)


def share_from(share: float) -> str:
    """Write the lower end of a range of shares, cut off; an end of exactly 0 or 1 stays exact.

    Examples
    --------
    >>> share_from(0.0), share_from(0.2306), share_from(0.0001)
    ('0 %', '23 %', '<0.1 %')
    """
    return "0 %" if share == 0 else "100 %" if share == 1 else percent(share)


def share_to(share: float) -> str:
    """Write the upper end of a range of shares, rounded up; an end of exactly 0 or 1 stays exact.

    Examples
    --------
    >>> share_to(1.0), share_to(0.1684)
    ('100 %', '17 %')
    """
    return "0 %" if share == 0 else "100 %" if share == 1 else percent_at_most(share)


def share_range(low: float, high: float) -> str:
    """Write a range of shares so that the words never claim a narrower range than the numbers.

    Parameters
    ----------
    low, high
        0 to 1, in order.

    Examples
    --------
    >>> share_range(0.0, 0.1684)
    '0 % to 17 %'
    """
    return f"{share_from(low)} to {share_to(high)}"


def _percent(share: float, rounding: str) -> str:
    # From the shortest decimal that stands for the number: 0.29 is 29 %, not 28.999...
    exact = Decimal(repr(float(share))) * 100
    if exact > Decimal("99.9"):
        return ">99.9 %"
    if exact < Decimal("0.1"):
        return "<0.1 %"
    step = Decimal("0.1") if exact < 1 or exact >= 99 else Decimal(1)
    return f"{exact.quantize(step, rounding=rounding)} %"


def expected_parts(parts: float) -> str:
    """Write an expected number of parts.

    Examples
    --------
    >>> expected_parts(0.1), expected_parts(0.004), expected_parts(12.6)
    ('0.1', 'fewer than 0.1', '13')
    """
    if parts < 0.05:
        return "fewer than 0.1" if parts > 0.0 else "0"
    return f"{parts:.1f}" if parts < 9.95 else f"{parts:.0f}"


def parts_in_words(many: int) -> str:
    """Write a number of parts.

    Examples
    --------
    >>> parts_in_words(1), parts_in_words(12)
    ('1 part', '12 parts')
    """
    return f"{many} part" if many == 1 else f"{many} parts"


def named(names: Sequence[str], joint: str = "and") -> str:
    """Write a list of names.

    Examples
    --------
    >>> named(["Moulding"]), named(["Moulding", "Packing"], "or"), named(["A", "B", "C"])
    ('Moulding', 'Moulding or Packing', 'A, B and C')
    """
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {joint} {names[-1]}"
