"""Dates that a person typed: refused where they cannot be true."""

from __future__ import annotations

from datetime import date

from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import tr, trn


def today(place: Workplace) -> date:
    """Give the day by the tablet's clock."""
    return place.now().date()


def in_days(count: int) -> str:
    """Say when a day is that lies so many days ahead.

    Examples
    --------
    >>> in_days(0), in_days(1), in_days(12)
    ('today', 'tomorrow', 'in 12 days')
    """
    if count == 0:
        return tr("today")
    return trn("tomorrow", "in {count} days", count)


def refuse_to_come(place: Workplace, label: str, day: str) -> None:
    """Refuse a day that is still to come, for something that has happened.

    Parameters
    ----------
    place
        Whose clock says what day it is.
    label
        What the day is of, as the page calls it.
    day
        ISO 8601, or empty. What is no date at all is left to the record, which refuses it in its own words.

    Raises
    ------
    InputError
        If the day is after today.
    """
    if is_after(day, today(place)):
        raise InputError(
            tr("{label}: {day} is still to come; mend it, or the date of the tablet.", label=label, day=day)
        )


def refuse_before(label: str, day: str, other_label: str, other: str) -> None:
    """Refuse a day that is before another one, where it must not be; either may be empty.

    Both are told in the form in which days are typed, whatever the language: one of the two is mended.

    Raises
    ------
    InputError
        If `day` is before `other`.
    """
    if is_after(other, day_of(day)):
        raise InputError(
            tr(
                "{label}: {day} is before {other_label} ({other}); mend one of the two.",
                label=label,
                day=day,
                other_label=other_label,
                other=other,
            )
        )


def is_after(day: str, other: date | None) -> bool:
    """Whether a day (ISO 8601) is after another; not when either is no date."""
    found = day_of(day)
    return found is not None and other is not None and found > other


def day_of(day: str) -> date | None:
    """Read a day (ISO 8601); none when it is no date."""
    try:
        return date.fromisoformat(day)
    except ValueError:
        return None
