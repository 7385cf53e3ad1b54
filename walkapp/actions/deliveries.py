"""Deliveries are typed in, corrected and taken back; "undo" takes back a whole table that was read."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from walkapp.actions.days import today
from walkapp.actions.desk import DeskFacts
from walkapp.actions.ppm_months import part_key
from walkapp.actions.undoing import newest_entries, what_undoes
from walkapp.actions.workplace import Workplace
from walkapp.analysis.deliveries import MOST_PARTS, month_problem
from walkapp.errors import InputError
from walkapp.language import month_text, tr, whole_text
from walkapp.model.records import Deliveries, Record, Withdrawal


def record_deliveries(
    place: Workplace,
    facts: DeskFacts,
    *,
    month: date,
    delivered: int,
    part_number: str = "",
    customer_nok: int | None = None,
    entry: str = "",
    why: str = "",
) -> Deliveries:
    """Record how many parts went out in a month, or correct what was recorded.

    Parameters
    ----------
    place
        Where to write.
    facts
        The stream as the person saw it.
    month
        First day of the month.
    delivered
        Parts delivered, 0 or more.
    part_number
        Empty for all parts of the stream.
    customer_nok
        NOK parts as the customer counts them; none when that is not known.
    entry
        Id of the record that is corrected; empty for a new one.
    why
        Why it is corrected.

    Raises
    ------
    InputError
        If the month is still to come or recorded already, a number cannot be true, or nothing changes.
    """
    if problem := month_problem(month, month.isoformat()[:7], today(place)):
        raise InputError(tr("Month: {problem}; {problem2}.", problem=problem[0], problem2=problem[1]))
    for label, count in ((tr("Parts delivered"), delivered), (tr("NOK parts"), customer_nok)):
        if count is not None and not 0 <= count <= MOST_PARTS:
            raise InputError(
                tr(
                    "{label}: {count} must be from 0 to {most_parts}; check the number.",
                    label=label,
                    count=whole_text(count),
                    most_parts=whole_text(MOST_PARTS),
                )
            )
    said = delivery_fields(facts, month, part_number, delivered, customer_nok)
    here = standing_deliveries(facts, month, part_number)
    if not entry:
        if here:
            raise InputError(
                tr(
                    "{month} is recorded already ({delivered} delivered); correct that entry.",
                    month=month_text(month),
                    delivered=whole_text(here[-1].delivered),
                )
            )
        return place.add(Deliveries, concern=facts.book, **said)
    earlier = _standing(facts, entry)
    is_same_month = delivery_key(earlier) == (said["month"], part_key(part_number))
    if here and not is_same_month:
        raise InputError(
            tr(
                "{month} is recorded already; correct that entry and take this one back.",
                month=month_text(month),
            )
        )
    # Whoever corrects a month that was recorded twice says what it is: neither of the two counts any more.
    others = [one for one in here if one.id != earlier.id]
    if not others and all(getattr(earlier, n) == value for n, value in said.items() if n != "source"):
        raise InputError(tr("Nothing was changed, so nothing was recorded."))
    if not why.strip():
        raise InputError(tr("Say why it is corrected."))
    replaced = (earlier.id, *(one.id for one in others))
    return place.add(Deliveries, concern=facts.book, **said, replaces=replaced, why=why)


def take_out_deliveries(place: Workplace, facts: DeskFacts, entry: str, why: str) -> Withdrawal:
    """Take a record of deliveries back, whoever made it; what else is recorded of the month counts then.

    Raises
    ------
    InputError
        If it is not recorded any more, or no reason is given.
    """
    earlier = _standing(facts, entry)
    if not why.strip():
        raise InputError(tr("Say why it is taken back."))
    return place.add(Withdrawal, concern=facts.book, replaces=(earlier.id,), why=why)


def standing_deliveries(facts: DeskFacts, month: date, part_number: str = "") -> tuple[Deliveries, ...]:
    """Give the records of a month and part number that hold, the oldest first; the last one counts."""
    wanted = month.isoformat(), part_key(part_number)
    return tuple(r for r in facts.kept(Deliveries) if delivery_key(r) == wanted)


def newest_together(place: Workplace, book: str) -> list[Record]:
    """Give what "undo" takes back: the newest entry of this tablet, with all that came from the same file.

    Parameters
    ----------
    place
        Where the records are.
    book
        Id of the desk book.

    Returns
    -------
    list of Record
        The newest first; empty when there is nothing to take back. A table names each month once, so the
        entries of one reading follow each other and name no month twice.
    """
    stack = newest_entries(place, book, (Deliveries,))
    found: list[Record] = []
    seen: set[tuple[str, str]] = set()
    for entry in reversed(stack):
        if found and not _came_together(found, entry, seen):
            break
        found.append(entry)
        if not isinstance(entry, Deliveries) or not entry.source:
            break
        seen.add(delivery_key(entry))
    return found


def _came_together(found: Sequence[Record], entry: Record, seen: set[tuple[str, str]]) -> bool:
    newer = found[-1]
    return (
        isinstance(entry, Deliveries)
        and isinstance(newer, Deliveries)
        and entry.source == newer.source
        and entry.number == newer.number - 1
        and delivery_key(entry) not in seen
        # A reading records its corrections first: an addition before a correction is of an earlier one.
        and not (newer.replaces and not entry.replaces)
    )


def take_back_together(place: Workplace, book: str) -> tuple[Record, ...]:
    """Take back what :func:`newest_together` gives, all of it or nothing.

    Raises
    ------
    InputError
        If there is nothing to take back.
    """
    found = newest_together(place, book)
    if not found:
        raise InputError(tr("There is nothing on this page that this tablet could take back."))
    records = place.store.records(book)
    return place.add_all([what_undoes(entry, records) for entry in found])


def delivery_fields(
    facts: DeskFacts,
    month: date,
    part_number: str,
    delivered: int,
    customer_nok: int | None,
    source: str = "",
) -> dict[str, Any]:
    """Give the fields of a record of deliveries beyond its header."""
    return {
        "stream": facts.stream,
        "month": month.replace(day=1).isoformat(),
        "part_number": " ".join(part_number.split()),
        "delivered": delivered,
        "customer_nok": customer_nok,
        "source": source,
    }


def _standing(facts: DeskFacts, entry: str) -> Deliveries:
    found = next((r for r in facts.kept(Deliveries) if r.id == entry), None)
    if found is None:
        raise InputError(tr("This entry holds no longer: it was corrected or taken back; look again."))
    return found


def delivery_key(record: Deliveries) -> tuple[str, str]:
    """Give what two records of one month and part number have in common."""
    return record.month, part_key(record.part_number)
