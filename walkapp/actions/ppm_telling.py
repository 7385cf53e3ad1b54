"""The ppm of a stream in words, for the page, the terminal and programs."""

from __future__ import annotations

from collections.abc import Iterator

from walkapp.actions.figures.catalogue import NOT_ESCALATED
from walkapp.actions.ppm import LONG, SHORT, Rolling, StreamPpm
from walkapp.actions.ppm_months import MonthPpm, index_of, month_at, part_key
from walkapp.analysis.ppm import PpmRate
from walkapp.analysis.ppm_words import (
    MODEL,
    comparison_words,
    counts_words,
    limits_words,
    nok_words,
    ppm_number,
    ppm_words,
    rate_words,
    target_words,
)
from walkapp.analysis.wording import capital, named
from walkapp.language import month_words
from walkapp.model.ids import short_id
from walkapp.model.records import Deliveries

NO_DELIVERIES = "no deliveries recorded, so no ppm"
WHERE_FROM = (
    "NOK parts are those of the concerns, in the month in which the customer reported them, and the "
    "customer's own count where it is recorded. Parts of the last months may still come back."
)
_MOST_NAMED = 5


def sentence_of(found: StreamPpm) -> str:
    """Say the ppm of the twelve months in one sentence."""
    year = found.year
    if year is None or year.rate is None:
        return "No deliveries are recorded yet, so there is no ppm."
    where = f"{'in' if year.first == year.last else 'from'} {span_words(year)}"
    return f"{_told(year.rate, where)}."


def span_words(rolling: Rolling) -> str:
    """Name the months of a rolling value."""
    if rolling.first == rolling.last:
        return month_words(rolling.last)
    return f"{month_words(rolling.first)} to {month_words(rolling.last)}"


def _told(rate: PpmRate, where: str) -> str:
    return f"{capital(ppm_words(rate))} {where}: {counts_words(rate)}{_limits(rate)}"


def _limits(rate: PpmRate) -> str:
    if rate.limits is None:
        return ""
    return f"; {limits_words(rate.limits)}{', no upper limit' if rate.is_least else ''}"


def lines_of(found: StreamPpm, target: float | None = None) -> tuple[str, ...]:
    """Say what is to be known beside the sentence: target, latest month, differences, what is left out.

    Parameters
    ----------
    found
        The ppm of a stream.
    target
        In ppm, instead of that of the success factors.
    """
    return tuple(f"{line}." for line in _lines(found, target))


def _lines(found: StreamPpm, target: float | None) -> Iterator[str]:
    against = found.against(target)
    if against is not None and found.year is not None:
        yield target_words(against, found.year.rate)
    if target is None and len({float(one.target) for one in found.factors}) > 1:
        yield f"{len(found.factors)} success factors set a target in ppm; the strictest is taken"
    if missing := _missing_of(found):
        left_out = "that month is left out" if len(missing) == 1 else "these months are left out"
        yield f"No deliveries are recorded of {named(missing)}: {left_out}, NOK parts and all"
    latest = found.latest
    if latest is not None and latest.rate is not None and found.year is not None and found.year.known > 1:
        yield _told(latest.rate, f"in {month_words(latest.month)}")
    if found.before_latest is not None and latest is not None:
        before, compared = found.before_latest
        yield (
            f"{month_words(latest.month)} against {span_words(before)}, {_short_rate(before.rate)}: "
            f"{comparison_words(compared)}"
        )
    if found.before_year is not None:
        before, compared = found.before_year
        yield (
            f"The twelve months against {span_words(before)}, {_short_rate(before.rate)}: "
            f"{comparison_words(compared)}"
        )
    if latest is not None and index_of(latest.month) == index_of(found.today):
        yield f"{month_words(latest.month)} is not over"
    newer = [one for one in found.months if latest is None or one.month > latest.month]
    with_nok = [one for one in newer if one.nok or one.is_least]
    for one in with_nok[:_MOST_NAMED]:
        yield f"{month_words(one.month)}: {_nok_of(one)}, {NO_DELIVERIES} yet"
    if (left := len(with_nok) - _MOST_NAMED) > 0:
        have = "month has" if left == 1 else "months have"
        yield f"{left} earlier {have} NOK parts and no deliveries too"
    if found.at_odds:
        months = named([month_words(one.month) for one in found.at_odds[:_MOST_NAMED]])
        more = " and others" if len(found.at_odds) > _MOST_NAMED else ""
        yield (
            f"Recorded twice with different numbers: {months}{more}; the newer record counts until one is "
            "taken back"
        )
    if found.facts.standing.conflicts:
        yield "Entries here were corrected differently on two tablets; a person has to decide"
    if found.later:
        yield f"{_months(found.later)} later than today by this tablet's clock {_is(found.later)} left out"
    if found.earlier:
        many = f"{_months(found.earlier)} before {month_words(found.months[-1].month)}"
        yield f"{many} {_is(found.earlier)} not shown; 'walkapp ppm' tells more"


def _missing_of(found: StreamPpm) -> list[str]:
    """Name the months of the last twelve of which no deliveries are recorded."""
    year = found.year
    if year is None:
        return []
    first = index_of(year.first)
    each = (found.month(month_at(index)) for index in range(first, first + year.span))
    return [month_words(one.month) for one in each if one.rate is None]


def cautions_of(found: StreamPpm) -> tuple[str, ...]:
    """Say which safety-class concerns nobody has recorded to have been told of."""
    open_ones = [facts for facts in found.facts.concerns if facts.needs_escalation]
    if not open_ones:
        return ()
    what = f"{open_ones[0].what!r}" if len(open_ones) == 1 else f"{len(open_ones)} concerns"
    return (f"{what}: {NOT_ESCALATED}",)


def month_notes(found: StreamPpm, one: MonthPpm) -> tuple[str, ...]:
    """Say what has to be known of the numbers of one month, a sentence each."""
    return tuple(f"{note}." for note in _month_notes(found, one))


def _month_notes(found: StreamPpm, one: MonthPpm) -> Iterator[str]:
    if index_of(one.month) == index_of(found.today):
        yield "The month is not over"
    if one.delivered == 0:
        yield "Nothing was delivered, so there is no ppm"
    elif one.delivered is not None and one.nok > one.delivered:
        yield "More NOK parts than parts delivered: parts of earlier deliveries are among them"
    if one.customer_nok is not None and (gap := one.customer_nok - one.from_concerns):
        yield (
            f"The customer counts {one.customer_nok:,}, the concerns here {one.from_concerns:,}: "
            f"{abs(gap):,} {'more' if gap > 0 else 'fewer'}"
            + ("" if one.counted_by == "customer" else f"; {one.nok:,} count with the other part numbers")
        )
    if one.counted_by == "both" and any(not f.concern.part_number for f in one.concerns):
        yield "Concerns without a part number count beside the customer's own count; parts may count twice"
    if unknown := len(one.without_quantity):
        so = (
            "; each counts as one part if the customer reported it, so there are at least so many"
            if one.is_least
            else "; the customer's own count stands for it"
        )
        yield f"{_concerns(unknown)} without a quantity{so}"
    if one.is_before_records:
        yield (
            "Nothing of this stream was recorded here at that time, so what came back is not known; type "
            "in the customer's own count"
        )
    if opened := len(one.by_opening):
        yield f"{_concerns(opened)} without a day of report, counted in the month of {_its(opened)} opening"
    if unnamed := len(one.unnamed):
        yield f"{_concerns(unnamed)} without a part number not counted here"
    if len(one.counted) > 1:
        yield f"Delivered: the sum of {len(one.counted)} part numbers"
    if lacking := _without_deliveries(one):
        yield f"NOK parts of {named(lacking)} count, but no deliveries of it are recorded"
    if one.at_odds:
        yield (
            "Recorded more than once with different numbers; the newest record counts until the others are "
            "taken back"
        )


def _without_deliveries(one: MonthPpm) -> list[str]:
    """Part numbers of concerns of which no deliveries are recorded, where others have some."""
    recorded = {part_key(r.part_number) for r in one.counted}
    if not recorded or "" in recorded:
        return []
    found = {" ".join(f.concern.part_number.split()) for f in one.concerns}
    return sorted(part for part in found if part and part_key(part) not in recorded)[:_MOST_NAMED]


def record_words(record: Deliveries) -> str:
    """Say what a record of deliveries says."""
    part = f"part number {record.part_number}: " if record.part_number else ""
    customer = (
        "" if record.customer_nok is None else f", {record.customer_nok:,} NOK as the customer counts them"
    )
    return f"{part}{record.delivered:,} delivered{customer}"


def record_origin(record: Deliveries) -> str:
    """Say who recorded it, when, on which tablet and from which file."""
    source = f", read from {record.source}" if record.source else ""
    why = f"; {record.why}" if record.why else ""
    return f"{record.at[:10]} by {record.by}, tablet {short_id(record.device)}{source}{why}"


def month_line(one: MonthPpm) -> str:
    """Say a month in one line, without its name."""
    if one.rate is None:
        return f"{_nok_of(one)}, {NO_DELIVERIES}" if one.concerns or one.nok else NO_DELIVERIES
    return f"{counts_words(one.rate)}, {rate_words(one.rate)}"


def short_line(one: MonthPpm) -> str:
    """Say the ppm of a month in two words."""
    said = _in_short(one.rate)
    return "no ppm" if said == "-" else f"{said.replace('>=', 'at least ')} ppm"


def rolling_words(rolling: Rolling | None, span: int) -> str:
    """Say a rolling value in a few words; empty where there is none."""
    said = _in_short(rolling.rate if rolling else None).replace(">=", "at least ")
    if rolling is None or said == "-":
        return ""
    known = "" if rolling.known == span else f" ({rolling.known} known)"
    return f"{span} months: {said} ppm{known}"


def ppm_lines(found: StreamPpm, target: float | None = None) -> Iterator[str]:
    """Tell the ppm of a stream for a terminal; parameters as for :func:`lines_of`."""
    part = f", part number {found.part_number}" if found.part_number else ""
    yield f"PPM of {found.facts.name}{part}"
    for caution in cautions_of(found):
        yield f"Mind: {caution}"
    yield sentence_of(found)
    yield from lines_of(found, target)
    yield ""
    yield (
        f"{'month':<15} {'NOK':>9} {'delivered':>13} {'ppm':>9}  {'95 % limits of the month':<40} "
        f"{f'{SHORT} months':>11} {f'{LONG} months':>11}"
    )
    told = found.told_months
    for one in told:
        yield _table_row(found, one).rstrip()
    if empty := len(found.months) - len(told):
        since = month_words(found.months[empty - 1].month)
        yield f"Nothing is recorded {'of' if empty == 1 else 'since'} {since}."
    noted = [(one, note) for one in found.months for note in month_notes(found, one)]
    if noted:
        yield ""
        yield from (f"{month_words(one.month)}: {note}" for one, note in noted)
    yield ""
    yield "In brackets: of how many months deliveries are recorded, where it is not of all."
    yield WHERE_FROM
    yield MODEL


def _table_row(found: StreamPpm, one: MonthPpm) -> str:
    nok = f"{'>=' if one.is_least else ''}{one.nok:,}"
    delivered = "-" if one.delivered is None else f"{one.delivered:,}"
    limits = limits_words(one.rate.limits).replace(" ppm", "") if one.rate and one.rate.limits else "-"
    rolling = (_rolling_in_short(found.rolling(span, one.month), span) for span in (SHORT, LONG))
    return (
        f"{month_words(one.month):<15} {nok:>9} {delivered:>13} {_in_short(one.rate):>9}  {limits:<40} "
        + " ".join(f"{text:>11}" for text in rolling)
    )


def _in_short(rate: PpmRate | None) -> str:
    if rate is None or rate.ppm is None:
        return "-"
    return f"{'>=' if rate.is_least else ''}{ppm_number(rate.ppm)}"


def _rolling_in_short(rolling: Rolling | None, span: int) -> str:
    if rolling is None:
        return "-"
    said = _in_short(rolling.rate)
    return said if said == "-" or rolling.known == span else f"{said} ({rolling.known})"


def _nok_of(one: MonthPpm) -> str:
    return nok_words(one.nok, is_least=one.is_least)


def _short_rate(rate: PpmRate | None) -> str:
    return "no ppm" if rate is None or rate.ppm is None else f"{ppm_number(rate.ppm)} ppm"


def _months(many: int) -> str:
    return f"{many} {'month' if many == 1 else 'months'}"


def _concerns(many: int) -> str:
    return f"{many} {'concern' if many == 1 else 'concerns'}"


def _is(many: int) -> str:
    return "is" if many == 1 else "are"


def _its(many: int) -> str:
    return "its" if many == 1 else "their"
