"""The facts of a concern: what cannot be true is refused; a correction is a new record with its reason."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, time
from decimal import Decimal
from typing import Any

from walkapp.actions.days import day_of, refuse_before, refuse_to_come
from walkapp.actions.judging import limit_samples
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.reasons import said_reason
from walkapp.actions.workplace import Workplace
from walkapp.analysis.wording import SEVERITY_WORDS, moment_text
from walkapp.errors import InputError
from walkapp.language import day_said, decimal_text, msg, tr
from walkapp.model.records import LIMITS, Concern, what_is_said

DAY_LABELS = {
    "reported_on": msg("Reported on"),
    "made_from": msg("First production day"),
    "made_to": msg("Last production day"),
}
"""The days of a concern as pages and sentences call them."""

_HOUR_AND_MINUTE = re.compile(r"[0-9]{1,2}:[0-9]{2}", re.ASCII)


def refuse_odd_days(place: Workplace, said: Mapping[str, Any]) -> None:
    """Refuse days of a concern that are still to come or out of order.

    Parameters
    ----------
    place
        Whose clock says what day it is.
    said
        Fields of :class:`walkapp.model.records.Concern`; days may be missing or empty.

    Raises
    ------
    InputError
        If one cannot be true.
    """
    days = {name: str(said.get(name, "")) for name in DAY_LABELS}
    for name, label in DAY_LABELS.items():
        refuse_to_come(place, tr(label), days[name])
    for later in ("made_to", "reported_on"):
        refuse_before(
            tr(DAY_LABELS[later]),
            days[later],
            tr("the first production day"),
            days["made_from"],
        )


def correct_concern(place: Workplace, facts: ConcernFacts, *, why: str, **said: Any) -> Concern:
    """Say the facts of a concern anew; what was said before is kept.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern as the person saw it. Where it was corrected elsewhere meanwhile, both are kept and
        are entries that disagree.
    why
        Why.
    said
        The fields that change. Value stream and defect cannot: everything counted so far was counted
        for them.

    Raises
    ------
    InputError
        If nothing changes, the value stream or the defect would, or a day cannot be true.
    RecordError
        If a value is not allowed.
    """
    before = what_is_said(facts.concern)
    after = {**before, **said}
    if after == before:
        raise InputError(tr("Nothing was changed, so nothing was recorded."))
    if any(after[name] != before[name] for name in ("stream", "defect")):
        raise InputError(
            tr("Value stream and defect of a concern stay; open a new concern for another one.")
        )
    refuse_odd_days(place, after)
    concern = facts.concern
    return place.add(Concern, concern=concern.concern, **after, replaces=(concern.id,), why=why)


def moment_told(place: Workplace, day: str, clock: str) -> str:
    """Turn the day and the time at which somebody was told into a moment with the tablet's offset.

    Parameters
    ----------
    place
        Whose clock it was read from.
    day, clock
        ISO 8601 and HH:MM; both empty for just now.

    Raises
    ------
    InputError
        If one of them is missing or no day or time, or the moment is still to come.
    """
    now = place.now()
    if not (day or clock):
        return now.isoformat(timespec="seconds")
    on, at = day_of(day), _time_of(clock)
    if on is None:
        raise InputError(
            tr(
                "Told on: {what} is no day; write it as {now}.",
                what=day or tr("nothing"),
                now=now.date().isoformat(),
            )
        )
    if at is None:
        raise InputError(
            tr(
                "Told at: {what} is no time; write it as {now}.",
                what=clock or tr("nothing"),
                now=f"{now:%H:%M}",
            )
        )
    told = datetime.combine(on, at, now.tzinfo)
    if told > now:
        raise InputError(
            tr(
                "Told at: {day} {clock} is still to come, it is {now} by this tablet; mend it, "
                "or the clock of the tablet.",
                day=day,
                clock=clock,
                now=f"{now:%Y-%m-%d %H:%M}",
            )
        )
    return told.isoformat(timespec="seconds")


def _time_of(clock: str) -> time | None:
    if not _HOUR_AND_MINUTE.fullmatch(clock):
        return None
    hour, minute = map(int, clock.split(":"))
    return time(hour, minute) if hour < 24 and minute < 60 else None


def facts_in_words(facts: ConcernFacts) -> tuple[str, ...]:
    """Tell everything that was said of a concern, a line each; nothing for what was not said."""
    concern = facts.concern
    lines = (
        tr("Severity class: {severity_words}", severity_words=tr(SEVERITY_WORDS[concern.severity])),
        _line(tr("Part"), " ".join(filter(None, (concern.part_name, concern.part_number)))),
        _line(tr("Customer reference"), concern.customer_reference),
        _line(tr("Parts reported"), "" if concern.quantity is None else str(concern.quantity)),
        _line(tr("Reported on"), day_said(concern.reported_on)),
        _line(tr("Made"), _from_to(day_said(concern.made_from), day_said(concern.made_to))),
        _line(tr("Lots"), concern.lots),
        _line(tr("Affected parts expected"), _shares(concern.share_low, concern.share_high)),
        _line(tr("Value stream"), facts.stream.name if facts.stream else concern.stream),
        _line(tr("Last corrected"), _correction(concern)),
    )
    return tuple(line for line in lines if line)


def samples_in_words(facts: ConcernFacts) -> str:
    """Say how many limit samples there are of each side; empty for none."""
    ok, not_ok = (len(limit_samples(facts, limit)) for limit in LIMITS)
    return tr("{ok} OK, {not_ok} NOK", ok=ok, not_ok=not_ok) if ok or not_ok else ""


def facts_lines(facts: ConcernFacts) -> tuple[str, ...]:
    """Tell the facts of a concern for a terminal."""
    lines = (
        *facts_in_words(facts),
        _line(tr("Limit samples"), samples_in_words(facts)),
        *(
            tr("Told: {told}, {told_at}", told=r.told, told_at=moment_text(r.told_at))
            for r in facts.escalations
        ),
    )
    return (tr("What is known of the concern:"), *(f"  {line}" for line in lines if line))


def facts_to_json(facts: ConcernFacts) -> dict[str, Any]:
    """Turn the facts of a concern into JSON values; empty texts and nulls for what was not said."""
    concern = facts.concern
    return {
        "severity": concern.severity,
        "how_to_judge": concern.how_to_judge,
        "part_name": concern.part_name,
        "part_number": concern.part_number,
        "customer_reference": concern.customer_reference,
        "quantity": concern.quantity,
        "reported_on": concern.reported_on,
        "made_from": concern.made_from,
        "made_to": concern.made_to,
        "lots": concern.lots,
        "limit_samples": {limit: len(limit_samples(facts, limit)) for limit in LIMITS},
        "told": [{"told": r.told, "told_at": r.told_at, "by": r.by} for r in facts.escalations],
    }


def _line(label: str, value: str) -> str:
    return f"{label}: {value}" if value else ""


def _correction(concern: Concern) -> str:
    return (
        tr("{at} by {by}: {why}", at=moment_text(concern.at), by=concern.by, why=said_reason(concern.why))
        if concern.replaces
        else ""
    )


def _from_to(first: str, last: str) -> str:
    if first == last:
        return first
    if not last:
        return tr("from {first}", first=first)
    return tr("from {first} to {last}", first=first, last=last) if first else tr("to {last}", last=last)


def _shares(low: str, high: str) -> str:
    least, most = (decimal_text(percent_of(share)) for share in (low, high))
    if least and most:
        return tr("at least {least} % and at most {most} %", least=least, most=most)
    if least:
        return tr("at least {least} %", least=least)
    return tr("at most {most} %", most=most) if most else ""


def percent_of(share: str) -> str:
    """Write a share as the percent that were typed; empty for none.

    Examples
    --------
    >>> percent_of("0.2"), percent_of("0.125"), percent_of("1"), percent_of("")
    ('20', '12.5', '100', '')
    """
    return format((Decimal(share) * 100).normalize(), "f") if share else ""
