"""One month of deliveries: what went out, what came back, and which records say so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.ppm import PpmRate, ppm_rate
from walkapp.model.records import Deliveries


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthPpm:
    """One month: what went out, what came back, and where the numbers come from.

    Parameters
    ----------
    month
        Its first day.
    delivered
        Parts delivered; none when no deliveries are recorded.
    nok
        NOK parts that count in this month.
    is_least
        Whether there are at least so many, since a quantity is not known.
    counted_by
        Whose count that is: ``customer``, ``concerns``, or ``both`` where the customer counts some part
        numbers and the concerns give the others.
    customer_nok
        The customer's own count, as far as it is recorded; none when it is not.
    from_concerns
        Parts of all concerns of this month.
    concerns
        The concerns of this month, the oldest first.
    unnamed
        Concerns of this month that name no part number, where only one part number is looked at: they are
        not counted, and while the customer's count is not recorded the count is a least one.
    deliveries
        The records of this month that hold, by part number and then by id.
    counted
        Those of them that count.
    at_odds
        Those that say something else than a newer one of the same month and part number.
    is_before_records
        Whether nothing of the stream was recorded here before the month was over, and the customer's count
        is not recorded either: what came back is not known, so that the count is a least one.
    rate
        The ppm with its limits; none when no deliveries are recorded.
    """

    month: date
    delivered: int | None
    nok: int
    is_least: bool
    counted_by: str
    customer_nok: int | None
    from_concerns: int
    concerns: tuple[ConcernFacts, ...]
    unnamed: tuple[ConcernFacts, ...]
    deliveries: tuple[Deliveries, ...]
    counted: tuple[Deliveries, ...]
    at_odds: tuple[Deliveries, ...]
    is_before_records: bool
    rate: PpmRate | None

    @property
    def without_quantity(self) -> tuple[ConcernFacts, ...]:
        """Concerns of which it is not recorded how many parts the customer reported."""
        return tuple(facts for facts in self.concerns if facts.concern.quantity is None)

    @property
    def by_opening(self) -> tuple[ConcernFacts, ...]:
        """Concerns without a day of report: they lie in the month in which they were opened."""
        return tuple(facts for facts in self.concerns if not facts.concern.reported_on)

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all is recorded of this month."""
        return not (self.deliveries or self.concerns or self.unnamed)


def index_of(day: date) -> int:
    """Number a month, so that the next one is one more."""
    return day.year * 12 + day.month - 1


def month_at(index: int) -> date:
    """Give the first day of a month that :func:`index_of` numbered."""
    return date(index // 12, index % 12 + 1, 1)


def month_of(facts: ConcernFacts) -> date:
    """Give the first day of the month that a concern belongs to."""
    concern = facts.concern
    if concern.reported_on:
        return date.fromisoformat(concern.reported_on).replace(day=1)
    # A correction has a time of its own: the record that opened the concern tells when that was.
    opened = next((r for r in facts.everything if r.id == facts.id), concern)
    return date.fromisoformat(opened.at[:10]).replace(day=1)


def part_key(part_number: str) -> str:
    """Give what two spellings of a part number have in common: capitals and blanks make no difference."""
    return " ".join(part_number.split()).casefold()


def parts_of(facts: ConcernFacts) -> int:
    """Count the NOK parts that a concern stands for, at least."""
    concern = facts.concern
    if concern.quantity is not None:
        return concern.quantity
    return 1 if concern.reported_on or concern.customer_reference else 0


def says_the_same(one: Deliveries, other: Deliveries) -> bool:
    """Whether two records of a month and part number say the same, wherever they come from."""
    return (one.delivered, one.customer_nok) == (other.delivered, other.customer_nok)


def month_ppm(
    month: date,
    records: Iterable[Deliveries],
    concerns: Iterable[ConcernFacts],
    unnamed: Iterable[ConcernFacts],
    *,
    is_before: bool,
) -> MonthPpm:
    """Work out one month.

    Parameters
    ----------
    month
        Its first day.
    records
        The records of its deliveries that hold, those of all part numbers that are looked at.
    concerns
        Its concerns, likewise.
    unnamed
        Its concerns without a part number, where only one part number is looked at.
    is_before
        Whether nothing of the stream was recorded here before the month was over.
    """
    standing = tuple(sorted(records, key=lambda r: (part_key(r.part_number), r.id)))
    newest: dict[str, Deliveries] = {}
    at_odds: list[Deliveries] = []
    for part, same in groupby(standing, key=lambda r: part_key(r.part_number)):
        each = tuple(same)
        newest[part] = each[-1]
        at_odds.extend(r for r in each[:-1] if not says_the_same(r, each[-1]))
    # A record of all parts stands for those of the part numbers: what was delivered, and what came back.
    whole = newest.get("")
    counted = (whole,) if whole else tuple(newest.values())
    found = _oldest_first(concerns)
    own = {part: r.customer_nok for part, r in newest.items() if r.customer_nok is not None}
    if "" in own:
        own = {"": own[""]}
    left = tuple(f for f in found if not ("" in own or part_key(f.concern.part_number) in own))
    others = _oldest_first(unnamed)
    is_uncounted = is_before and any(not {"", part_key(r.part_number)} & own.keys() for r in counted)
    is_least = is_uncounted or any(f.concern.quantity is None for f in left) or bool(others and not own)
    nok = sum(own.values()) + sum(map(parts_of, left))
    delivered = sum(r.delivered for r in counted) if counted else None
    return MonthPpm(
        month=month,
        delivered=delivered,
        nok=nok,
        is_least=is_least,
        counted_by="concerns" if not own else "both" if left else "customer",
        customer_nok=sum(own.values()) if own else None,
        from_concerns=sum(map(parts_of, found)),
        concerns=found,
        unnamed=others,
        deliveries=standing,
        counted=counted,
        at_odds=tuple(at_odds),
        is_before_records=is_uncounted,
        rate=None if delivered is None else ppm_rate(nok, delivered, is_least=is_least),
    )


def _oldest_first(concerns: Iterable[ConcernFacts]) -> tuple[ConcernFacts, ...]:
    return tuple(sorted(concerns, key=lambda f: f.id))
