"""Where suspect parts are and what became of them: a balance in which no part is lost or counted twice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from datetime import date

from walkapp.analysis.finite_lots import nok_among_the_rest
from walkapp.analysis.onset import OnsetAnswer
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.results import Interval
from walkapp.analysis.wording import days_text, percent, share_range
from walkapp.language import day_said, msg, tr, whole_text

NO_RANGE = msg("It is not known how many parts could be bad.")
WHY_A_RANGE = msg(
    "Without that number nobody can say whether all suspect parts were found: record how "
    "many were made from the first suspect part to the last."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bout:
    """One bout of work on suspect parts.

    Parameters
    ----------
    checked
        Parts sorted, each looked at; 0 or more, as all others.
    nok
        NOK parts among them.
    reworked
        NOK parts reworked and found good.
    released
        Sorted parts released for use.
    scrapped
        Sorted parts scrapped; with `released` at most `checked`.
    scrapped_unsorted
        Parts scrapped without sorting, beside those sorted.
    """

    checked: int = 0
    nok: int = 0
    reworked: int = 0
    released: int = 0
    scrapped: int = 0
    scrapped_unsorted: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """What became of the suspect parts at one place, or at all places together.

    Parameters
    ----------
    located
        Parts found there before anybody sorted them.
    checked, nok, reworked, released, scrapped, scrapped_unsorted
        As of a :class:`Bout`, summed.
    to_sort
        Parts neither sorted nor scrapped; never negative.
    over
        Parts sorted or scrapped beyond those located: somebody counted wrong. Never negative.
    """

    located: int = 0
    checked: int = 0
    nok: int = 0
    reworked: int = 0
    released: int = 0
    scrapped: int = 0
    scrapped_unsorted: int = 0
    to_sort: int = 0
    over: int = 0

    @property
    def waiting(self) -> int:
        """Parts that were sorted and neither released nor scrapped."""
        return self.checked - self.released - self.scrapped

    @property
    def all_scrapped(self) -> int:
        """Parts scrapped, sorted or not."""
        return self.scrapped + self.scrapped_unsorted

    @property
    def is_done(self) -> bool:
        """Whether every part is released or scrapped, and the figures agree."""
        return not (self.to_sort or self.waiting or self.over)

    @property
    def share(self) -> Interval | None:
        """Exact two-sided 95 % interval of the NOK share of the parts sorted; none before any was."""
        return proportion_interval(self.nok, self.checked) if self.checked else None


def place_balance(quantity: int, bouts: Iterable[Bout]) -> Balance:
    """Work out what became of the parts at one place.

    Parameters
    ----------
    quantity
        Suspect parts found there, 0 or more.
    bouts
        The work on them, in any order.

    Returns
    -------
    Balance
        ``located + over == to_sort + waiting + released + scrapped + scrapped_unsorted``.

    Raises
    ------
    ValueError
        If a bout holds a negative number, more NOK than parts sorted, more reworked than NOK, or more
        released and scrapped than sorted.

    Examples
    --------
    >>> found = place_balance(100, [Bout(checked=60, nok=3, released=50, scrapped=3)])
    >>> found.to_sort, found.waiting, found.over
    (40, 7, 0)
    """
    sums = dict.fromkeys((field.name for field in fields(Bout)), 0)
    for bout in bouts:
        _check(bout)
        for name in sums:
            sums[name] += getattr(bout, name)
    left = quantity - sums["checked"] - sums["scrapped_unsorted"]
    return Balance(located=quantity, to_sort=max(0, left), over=max(0, -left), **sums)


def _check(bout: Bout) -> None:
    if min(getattr(bout, field.name) for field in fields(bout)) < 0:
        raise ValueError(f"a number of parts must not be negative: {bout}")
    if not bout.reworked <= bout.nok <= bout.checked:
        raise ValueError(f"reworked, nok and checked must be in order: {bout}")
    if bout.released + bout.scrapped > bout.checked:
        raise ValueError(f"released and scrapped must not be above checked: {bout}")


def sum_of(balances: Iterable[Balance]) -> Balance:
    """Add balances up; what is over at one place never hides what is to sort at another."""
    sums = dict.fromkeys((field.name for field in fields(Balance)), 0)
    for balance in balances:
        for name in sums:
            sums[name] += getattr(balance, name)
    return Balance(**sums)


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """The balance of all suspect parts against those that were made.

    Parameters
    ----------
    made
        Parts made in the suspect range; none when nobody has said.
    total
        All places together.
    """

    made: int | None
    total: Balance

    @property
    def unaccounted(self) -> int | None:
        """Parts made and not located; none when it is not known how many were made."""
        return None if self.made is None else max(0, self.made - self.total.located)

    @property
    def surplus(self) -> int:
        """Parts located beyond those made."""
        return 0 if self.made is None else max(0, self.total.located - self.made)

    @property
    def not_sorted(self) -> int:
        """Parts that nobody has sorted, as far as they are known: located, or made and not located."""
        return self.total.to_sort + (self.unaccounted or 0)

    @property
    def sentence(self) -> str:
        """The balance in a few words.

        Examples
        --------
        >>> Account(made=4800, total=Balance(located=4488)).sentence
        '312 of 4,800 not accounted for'
        """
        if self.made is None:
            return tr("{located} located, of how many is not known", located=whole_text(self.total.located))
        if self.surplus:
            return tr(
                "{surplus} more located than were made ({made})",
                surplus=whole_text(self.surplus),
                made=whole_text(self.made),
            )
        if self.unaccounted:
            return tr(
                "{unaccounted} of {made} not accounted for",
                unaccounted=whole_text(self.unaccounted),
                made=whole_text(self.made),
            )
        return tr("All {made} accounted for", made=whole_text(self.made))

    @property
    def warnings(self) -> tuple[str, ...]:
        """What has to be minded about these figures, a sentence each."""
        return tuple(self._warnings())

    def _warnings(self) -> Iterator[str]:
        if self.made is None:
            yield f"{tr(NO_RANGE)} {tr(WHY_A_RANGE)}"
        if self.surplus:
            yield (
                tr(
                    "More suspect parts were located than were made: the range is too small, or "
                    "parts were counted twice."
                )
            )
        if self.total.over:
            yield (
                tr(
                    "{over} more sorted or scrapped than were located: count again, or mend the quantity.",
                    over=whole_text(self.total.over),
                )
            )

    @property
    def found_sentence(self) -> str:
        """How many of the parts sorted were NOK, with the exact interval; empty before any was sorted."""
        share = self.total.share
        if share is None:
            return ""
        return tr(
            "{nok} NOK of {checked} sorted: {low} (exact, two-sided 95 %)",
            nok=whole_text(self.total.nok),
            checked=whole_text(self.total.checked),
            low=share_range(share.low, share.high),
        )

    @property
    def expected(self) -> tuple[int, int] | None:
        """Fewest and most NOK parts that sorting the rest would find; none while nothing was sorted."""
        if not self.total.checked:
            return None
        return nok_among_the_rest(self.total.nok, self.total.checked, self.not_sorted)

    @property
    def expected_sentence(self) -> str:
        """The same in words; empty when nothing was sorted or nothing is left."""
        if self.expected is None or not self.not_sorted:
            return ""
        few, many = self.expected
        found = (
            whole_text(few)
            if few == many
            else tr("{few} to {many}", few=whole_text(few), many=whole_text(many))
        )
        elsewhere = tr(" How many more parts are elsewhere is not known.") if self.made is None else ""
        return tr(
            "Expected among the {not_sorted} not sorted yet: {found} NOK (exact, two-sided "
            "95 %), if they are like those sorted.{elsewhere}",
            not_sorted=whole_text(self.not_sorted),
            found=found,
            elsewhere=elsewhere,
        )


def missed_sentence(total: Balance, detection: float) -> str:
    """Say how many bad parts the sorting itself may have let through.

    Parameters
    ----------
    total
        The balance.
    detection
        Chance that a bad part is called NOK, above 0 and at most 1.

    Examples
    --------
    >>> missed_sentence(Balance(checked=900, nok=45), 0.9)
    'A check that finds 90 % of bad parts has missed about 5 while it found 45.'
    """
    if detection >= 1.0 or not total.nok:
        return ""
    missed = total.nok * (1.0 - detection) / detection
    about = tr("about {missed}", missed=whole_text(round(missed))) if missed >= 0.95 else tr("fewer than 1")
    return tr(
        "A check that finds {detection} of bad parts has missed {about} while it found {nok}.",
        detection=percent(detection),
        about=about,
        nok=whole_text(total.nok),
    )


def range_against_onset(made_from: str, onset: OnsetAnswer) -> tuple[bool, str]:
    """Compare the first day of the suspect range with when the defect may have started.

    Parameters
    ----------
    made_from
        First production day of the range, ISO 8601.
    onset
        When the defect started.

    Returns
    -------
    tuple of (bool, str)
        Whether the most probable first bad day is before the range; and the warning, empty when the
        range begins with the interval of the onset or before it, or when no day is named.
    """
    interval = onset.interval
    if interval is None or onset.first_bad is None:
        return False, ""
    first_day = onset.rows[onset.first_bad].day
    if first_day < made_from:
        return True, tr(
            "The defect most likely started by {first_day}, before the first day of the "
            "range ({made_from}): parts made before the range are suspect too.",
            first_day=day_said(first_day),
            made_from=day_said(made_from),
        )
    if interval.bad_from_day is None:
        return False, tr(
            "The range cannot be set against the onset: the dates of the lots are out of order."
        )
    if interval.last_good_day is None:
        day = onset.rows[interval.first].day
        return False, tr(
            "It may have started at any time before {day}: parts made before the range "
            "({made_from}) may be suspect too. Count an older lot.",
            day=day_said(day),
            made_from=day_said(made_from),
        )
    if interval.last_good_day < made_from:
        return False, tr(
            "It may have started as early as {last_good_day} (95 % interval), before the "
            "first day of the range ({made_from}): parts made before the range may be "
            "suspect too.",
            last_good_day=day_said(interval.last_good_day),
            made_from=day_said(made_from),
        )
    return False, ""


def since_escape(today: date, found_on: Sequence[str], reported_on: str) -> tuple[int | None, str]:
    """Count the days since the last escape, or since the customer reported before any.

    Parameters
    ----------
    today
        The day of asking.
    found_on
        Days on which escapes were found, ISO 8601, in any order.
    reported_on
        When the customer reported the concern; empty when not known.

    Returns
    -------
    tuple of (int or None, str)
        Days, none when not known; and the same in words.

    Examples
    --------
    >>> since_escape(date(2026, 3, 3), ["2026-02-27"], "2026-02-19")
    (4, '4 days since the last escape (2026-02-27)')
    >>> since_escape(date(2026, 3, 3), [], "2026-03-02")
    (1, 'No escape in the 1 day since the customer reported (2026-03-02)')
    """
    last = max(found_on, default="") or reported_on
    if not last:
        return None, tr("Days since the last escape: not known, nobody said when the customer reported.")
    days = (today - date.fromisoformat(last)).days
    if days < 0:
        return None, tr(
            "The last bad parts are dated {last}, still to come: mend that, or the tablet's date.",
            last=day_said(last),
        )
    if found_on:
        return days, tr("{days} since the last escape ({last})", days=days_text(days), last=day_said(last))
    return days, tr(
        "No escape in the {days} since the customer reported ({last})",
        days=days_text(days),
        last=day_said(last),
    )
