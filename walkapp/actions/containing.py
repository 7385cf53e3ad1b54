"""Recording containment: plain refusals where figures or days cannot be true, corrections with why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from walkapp.actions.containment import ContainmentFacts, containment_of
from walkapp.actions.days import refuse_before, refuse_to_come
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import tr, whole_text
from walkapp.model.records import (
    CleanPoint,
    Escape,
    Record,
    Sorting,
    SuspectRange,
    SuspectStock,
    Withdrawal,
)

R = TypeVar("R", bound=Record)


def record_range(place: Workplace, facts: ConcernFacts, *, why: str = "", **said: Any) -> SuspectRange:
    """Record how many parts could be bad; takes the place of every range that stands.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    why
        Why an earlier range is corrected; needed when there is one.
    said
        The fields of a :class:`SuspectRange`.

    Raises
    ------
    InputError
        If a day is still to come, or `why` is missing.
    RecordError
        If a value is not allowed.
    """
    for name, label in (("made_from", tr("First production day")), ("made_to", tr("Last production day"))):
        refuse_to_come(place, label, said.get(name, ""))
    standing = containment_of(place, facts).ranges
    return _add(place, facts, SuspectRange, said, standing, why)


def record_stock(
    place: Workplace,
    facts: ConcernFacts,
    *,
    kind: str,
    quantity: int,
    station: str = "",
    where: str = "",
    lots: str = "",
    stock: str = "",
    why: str = "",
) -> SuspectStock:
    """Record a place with suspect parts, or correct one.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    kind
        Kind of place, a key of ``PLACE_WORDS``.
    quantity
        Suspect parts found there, at least 1.
    station
        Id of the station when the place is one, else empty.
    where, lots
        Where exactly, and which lots; may be empty.
    stock
        Id of the place to correct; empty for a new one.
    why
        Why it is corrected.

    Raises
    ------
    InputError
        If the station or the place to correct is not known, `why` is missing, or fewer parts are said
        to be there than were sorted or scrapped already.
    RecordError
        If a value is not allowed.
    """
    _refuse_station(facts, station)
    said = {"place": kind, "quantity": quantity, "station": station, "where": where, "lots": lots}
    if not stock:
        made = place.new_id()
        return _add(place, facts, SuspectStock, {"id": made, "stock": made, **said}, (), "")
    found = containment_of(place, facts).stock(stock)
    done = found.balance.checked + found.balance.scrapped_unsorted
    if quantity < done:
        raise InputError(
            tr(
                "{found}: {done} parts were sorted or scrapped there already, so at least so "
                "many were found; mend the number, or the sortings.",
                found=found.name,
                done=whole_text(done),
            )
        )
    return _add(place, facts, SuspectStock, {"stock": stock, **said}, (found.stock,), why)


def take_out_stock(place: Workplace, facts: ConcernFacts, stock: str, why: str) -> Withdrawal:
    """Take a place out that should not count, such as one that was recorded twice.

    Raises
    ------
    InputError
        If it is not known, parts were sorted there, or `why` is missing.
    """
    found = containment_of(place, facts).stock(stock)
    if found.sortings:
        raise InputError(
            tr("{found}: parts were sorted there; correct its figures instead.", found=found.name)
        )
    _need_why(why)
    return place.add(Withdrawal, concern=facts.concern.concern, replaces=(found.stock.id,), why=why)


def record_sorting(
    place: Workplace,
    facts: ConcernFacts,
    stock: str,
    *,
    sorting: str = "",
    why: str = "",
    **said: Any,
) -> Sorting:
    """Record a bout of work on the parts of one place, or correct one.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    stock
        Id of the place.
    sorting
        Id of the record to correct; empty for a new one.
    why
        Why it is corrected.
    said
        The other fields of a :class:`Sorting`.

    Raises
    ------
    InputError
        If the place was taken back, the day is still to come or before the suspect parts were made, more
        is sorted and scrapped than is there, or `why` is missing.
    RecordError
        If a value is not allowed, for example more NOK than parts sorted.
    """
    now = containment_of(place, facts)
    found = now.stock(stock)
    refuse_to_come(place, tr("Sorted on"), said.get("sorted_on", ""))
    refuse_before(
        tr("Sorted on"),
        said.get("sorted_on", ""),
        tr("the first production day of the suspect parts"),
        first_day(now),
    )
    others = [record for record in found.sortings if record.id != sorting]
    earlier = [record for record in found.sortings if record.id == sorting]
    if sorting and not earlier:
        raise InputError(tr("This sorting was corrected or taken back meanwhile; go back and look again."))
    left = found.stock.quantity - sum(one.checked + one.scrapped_unsorted for one in others)
    wanted = said.get("checked", 0) + said.get("scrapped_unsorted", 0)
    if wanted > left:
        raise InputError(
            tr(
                "{found}: {wanted} are more than the {what} left to sort there; mend the number, "
                "or correct how many were found there.",
                found=found.name,
                wanted=whole_text(wanted),
                what=whole_text(max(0, left)),
            )
        )
    return _add(place, facts, Sorting, {**said, "stock": stock}, tuple(earlier), why)


def first_day(now: ContainmentFacts) -> str:
    """Give the earliest day on which suspect parts may have been made; empty when nobody said."""
    days = [now.facts.concern.made_from, *(found.made_from for found in now.ranges)]
    return min(filter(None, days), default="")


def record_clean_point(place: Workplace, facts: ConcernFacts, *, why: str = "", **said: Any) -> CleanPoint:
    """Record from which part on parts are good; takes the place of every clean point that stands.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    why
        Why an earlier clean point is corrected; needed when there is one.
    said
        The fields of a :class:`CleanPoint`.

    Raises
    ------
    InputError
        If the station is not known, the day is still to come or before the suspect parts were made, or
        `why` is missing.
    RecordError
        If a value is not allowed.
    """
    _refuse_station(facts, said.get("station", ""))
    now = containment_of(place, facts)
    refuse_to_come(place, tr("Production day"), said.get("made_on", ""))
    refuse_before(
        tr("Production day"),
        said.get("made_on", ""),
        tr("the first production day of the suspect parts"),
        first_day(now),
    )
    # The newest first: it is the one that comes back when this is undone.
    standing = tuple(found.point for found in reversed(now.clean_points))
    return _add(place, facts, CleanPoint, said, standing, why)


def record_escape(
    place: Workplace, facts: ConcernFacts, *, escape: str = "", why: str = "", **said: Any
) -> Escape:
    """Record bad parts that got past the containment, or correct such a record.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    escape
        Id of the record to correct; empty for a new one.
    why
        Why it is corrected.
    said
        The fields of an :class:`Escape`.

    Raises
    ------
    InputError
        If a day is still to come, the parts were found before the customer reported the concern, the
        record to correct is not there, or `why` is missing.
    RecordError
        If a value is not allowed.
    """
    refuse_to_come(place, tr("Found on"), said.get("found_on", ""))
    refuse_to_come(place, tr("Production day"), said.get("made_on", ""))
    refuse_before(
        tr("Found on"),
        said.get("found_on", ""),
        tr("the day on which the customer reported"),
        facts.concern.reported_on,
    )
    earlier = [found for found in containment_of(place, facts).escapes if found.id == escape]
    if escape and not earlier:
        raise InputError(tr("This escape was corrected or taken back meanwhile; go back and look again."))
    return _add(place, facts, Escape, said, tuple(earlier), why)


def _add(
    place: Workplace,
    facts: ConcernFacts,
    kind: type[R],
    said: Mapping[str, Any],
    earlier: tuple[Record, ...],
    why: str,
) -> R:
    fields: dict[str, Any] = {"concern": facts.concern.concern, **said}
    if earlier:
        _need_why(why)
        fields |= {"replaces": tuple(record.id for record in earlier), "why": why}
    return place.add(kind, **fields)


def _need_why(why: str) -> None:
    if not why.strip():
        raise InputError(tr("Say why it is corrected: what stood there before is kept beside it."))


def _refuse_station(facts: ConcernFacts, station: str) -> None:
    if station and facts.stream is not None and facts.stream.station(station) is None:
        raise InputError(
            tr(
                "The station {station} is not in the checklist of this value stream; choose one.",
                station=repr(station),
            )
        )
