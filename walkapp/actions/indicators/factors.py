"""Success factors: stating, correcting and taking back what has to go right, and the targets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Any

from walkapp.actions.desk import DeskFacts
from walkapp.actions.indicators.offers import START, Offer
from walkapp.actions.reasons import TAKEN_BACK
from walkapp.actions.workplace import Workplace
from walkapp.analysis.indicators.fixed_set import DAYS, INDICATORS, PERCENT, PPM, Indicator
from walkapp.analysis.indicators.words import with_unit
from walkapp.errors import InputError
from walkapp.language import msg, tr, whole_text
from walkapp.model.records import SuccessFactor, Withdrawal, what_is_said

GONE = msg(
    "This success factor is not here any more: it was corrected or taken back meanwhile; go "
    "back and look at the list."
)

MOST_DAYS, MILLION = 36_500, 1_000_000

_LONGEST_TARGET = 22
"""Letters of a target, as the record allows them."""


def read_target(indicator: Indicator, typed: str) -> Fraction:
    """Read a target, in the unit of its indicator.

    Parameters
    ----------
    indicator
        What watches it.
    typed
        A number, with its unit or without: ``95``, ``95 %``, ``0,5 %``, ``30 days``.

    Raises
    ------
    InputError
        If it is no number, cannot be, or is one that anything meets or that nothing can show.

    Examples
    --------
    >>> read_target(INDICATORS["audits-done"], "97,5 %")
    Fraction(195, 2)
    """
    target = Fraction(Decimal(target_text(indicator, typed)))
    unit, more = indicator.unit, indicator.more_is_better
    top = {PERCENT: 100, DAYS: MOST_DAYS, PPM: MILLION}.get(unit)
    if target < 0 or (top is not None and target > top):
        limit = tr("0 to {top}", top=whole_text(top)) if top is not None else tr("0 or more")
        raise InputError(
            tr(
                "Target: {indicator} can only be {limit}; mend the number.",
                indicator=tr(indicator.name),
                limit=with_unit(indicator, limit),
            )
        )
    if not unit and target.denominator != 1:
        raise InputError(
            tr(
                "Target: {indicator} is a whole number; leave the decimals out.",
                indicator=tr(indicator.name),
            )
        )
    if (more and target == 0) or (not more and unit in (PERCENT, PPM) and target == top):
        raise InputError(tr("Target: anything would meet this; choose one that can be missed."))
    if indicator.form.is_estimate and target == (100 if more else 0):
        raise InputError(
            tr(
                "Target: however many are counted, they cannot show {target}; choose one that can be "
                "shown.",
                target=with_unit(indicator, whole_text(int(target))),
            )
        )
    return target


def target_text(indicator: Indicator, typed: str) -> str:
    """Write a typed target as the record keeps it: a plain decimal number with all its digits.

    Raises
    ------
    InputError
        If it is no number.
    """
    number = typed.strip().removesuffix(indicator.unit or " ").strip().replace(",", ".")
    try:
        value = Decimal(number) if number.isascii() and len(number) <= _LONGEST_TARGET else None
    except InvalidOperation:
        value = None
    if value is None or not value.is_finite() or not Decimal("-1e12") < value < Decimal("1e12"):
        raise InputError(
            tr(
                "Target: must be a number such as {number}.",
                number=with_unit(indicator, indicator.targets[0]),
            )
        )
    text = f"{value:f}"
    if len(text.partition(".")[2]) > 9:
        raise InputError(tr("Target: has more than nine decimals; fewer are enough."))
    return "0" if not value else text


def factors_of(desk: DeskFacts) -> tuple[SuccessFactor, ...]:
    """Give the success factors of a stream that hold, the oldest first."""
    return desk.kept(SuccessFactor)


def find_factor(desk: DeskFacts, factor: str) -> SuccessFactor:
    """Give one success factor.

    Raises
    ------
    InputError
        If it does not hold any more.
    """
    found = next((one for one in factors_of(desk) if one.id == factor), None)
    if found is None:
        raise InputError(tr(GONE))
    return found


def words_of_factor(place: Workplace, desk: DeskFacts, some_id: str) -> frozenset[str]:
    """Give the ids of all records of a success factor: its first word, corrections, undo, taking back.

    Parameters
    ----------
    place, desk
        As for :func:`state_factor`.
    some_id
        Id of any of them.
    """
    linked: dict[str, set[str]] = {}
    for record in place.store.records(desk.book):
        for replaced in record.replaces:
            linked.setdefault(replaced, set()).add(record.id)
            linked.setdefault(record.id, set()).add(replaced)
    found, waiting = {some_id}, [some_id]
    while waiting:
        fresh = linked.get(waiting.pop(), set()) - found
        found |= fresh
        waiting += fresh
    return frozenset(found)


def follow_factor(place: Workplace, desk: DeskFacts, some_id: str) -> SuccessFactor:
    """Give the success factor that an earlier word of it became, by corrections and undo.

    Parameters are those of :func:`words_of_factor`.

    Raises
    ------
    InputError
        If nothing of it holds any more.
    """
    words = words_of_factor(place, desk, some_id)
    found = next((one for one in factors_of(desk) if one.id in words), None)
    if found is None:
        raise InputError(tr(GONE))
    return found


def state_factor(place: Workplace, desk: DeskFacts, **said: Any) -> SuccessFactor:
    """Record what has to go right, and the indicator that watches it.

    Parameters
    ----------
    place
        Where to record it.
    desk
        The stream.
    said
        The fields of :class:`walkapp.model.records.SuccessFactor` without `stream`; the target as typed.

    Raises
    ------
    InputError
        If there is no such indicator, or the target makes no sense for it.
    RecordError
        If a value is not allowed.
    """
    return place.add(SuccessFactor, concern=desk.book, stream=desk.stream, **_checked(said))


def state_offers(place: Workplace, desk: DeskFacts, offers: Sequence[Offer] = START) -> None:
    """Record several offered factors together, all or none; those whose indicator watches one are left out.

    Raises
    ------
    InputError
        If all of them are watched already.
    """
    watched = {one.indicator for one in factors_of(desk)}
    wanted = [offer for offer in offers if offer.indicator not in watched]
    if not wanted:
        raise InputError(tr("Each of these is watched already; correct it where it stands."))
    header = {"concern": desk.book, "stream": desk.stream}
    place.add_all([(SuccessFactor, {**header, **_checked(offer.said())}) for offer in wanted])


def correct_factor(
    place: Workplace, desk: DeskFacts, corrects: str, *, why: str, **said: Any
) -> SuccessFactor:
    """Correct a success factor; what it said before stays on record.

    Parameters
    ----------
    place, desk
        As for :func:`state_factor`.
    corrects
        Id of the one that holds.
    why
        Why it is corrected.
    said
        The fields that change.

    Raises
    ------
    InputError
        As for :func:`state_factor`, and if it no longer holds, nothing would change or no reason is given.
    RecordError
        If a value is not allowed.
    """
    before = find_factor(desk, corrects)
    if not why.strip():
        raise InputError(tr("Why it is corrected is missing; fill it in."))
    fields = _checked({**what_is_said(before), **said})
    if fields == what_is_said(before):
        raise InputError(tr("Nothing was changed; change a field, or go back."))
    return place.add(SuccessFactor, concern=desk.book, replaces=(corrects,), why=why, **fields)


def take_factor_back(place: Workplace, desk: DeskFacts, factor: str, why: str = TAKEN_BACK) -> None:
    """Take a success factor back; it stays on record and counts no more.

    Raises
    ------
    InputError
        If it no longer holds.
    """
    find_factor(desk, factor)
    place.add(Withdrawal, concern=desk.book, replaces=(factor,), why=why.strip() or TAKEN_BACK)


def _checked(said: Mapping[str, Any]) -> dict[str, Any]:
    indicator = INDICATORS.get(said["indicator"])
    if indicator is None:
        raise InputError(
            tr(
                "There is no indicator {said} in this version; choose one of the list, or bring "
                "walkapp up to date.",
                said=repr(said["indicator"]),
            )
        )
    read_target(indicator, said["target"])
    return {**said, "target": target_text(indicator, said["target"])}
