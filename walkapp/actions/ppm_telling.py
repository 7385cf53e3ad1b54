"""The ppm of a stream in words, for the page, the terminal and programs."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from walkapp.actions.figures.catalogue import NOT_ESCALATED
from walkapp.actions.ppm import LONG, SHORT, Rolling, StreamPpm
from walkapp.actions.ppm_months import MonthPpm, index_of, month_at, part_key
from walkapp.actions.reasons import said_reason
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
from walkapp.analysis.wording import named
from walkapp.language import day_said, month_words, msg, tr, trn, whole_text
from walkapp.model.ids import short_id
from walkapp.model.records import Deliveries

NO_DELIVERIES = msg("no deliveries recorded, so no ppm")
WHERE_FROM = msg(
    "NOK parts are those of the concerns, in the month in which the customer reported them, "
    "and the customer's own count where it is recorded. Parts of the last months may still "
    "come back."
)
_MOST_NAMED = 5


def sentence_of(found: StreamPpm) -> str:
    """Say the ppm of the twelve months in one sentence."""
    year = found.year
    if year is None or year.rate is None:
        return tr("No deliveries are recorded yet, so there is no ppm.")
    if year.first == year.last:
        return f"{_in_month(year.rate, year.last)}."
    told = tr(
        "{first} to {last}: {ppm}, {counts}",
        first=month_words(year.first),
        last=month_words(year.last),
        ppm=ppm_words(year.rate),
        counts=counts_words(year.rate),
    )
    return f"{_with_limits(told, year.rate)}."


def span_words(rolling: Rolling) -> str:
    """Name the months of a rolling value."""
    if rolling.first == rolling.last:
        return month_words(rolling.last)
    return tr("{month} to {month2}", month=month_words(rolling.first), month2=month_words(rolling.last))


def _in_month(rate: PpmRate, month: date) -> str:
    told = tr(
        "{month}: {ppm}, {counts}",
        month=month_words(month),
        ppm=ppm_words(rate),
        counts=counts_words(rate),
    )
    return _with_limits(told, rate)


def _with_limits(told: str, rate: PpmRate) -> str:
    if rate.limits is None:
        return told
    limits = limits_words(rate.limits)
    if rate.is_least:
        return tr("{told}; {limits}, no upper limit", told=told, limits=limits)
    return tr("{told}; {limits}", told=told, limits=limits)


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
        yield tr(
            "{factors} success factors set a target in ppm; the strictest is taken",
            factors=len(found.factors),
        )
    if missing := _missing_of(found):
        yield (
            tr(
                "No deliveries are recorded of {months}: that month is left out, NOK parts and all",
                months=missing[0],
            )
            if len(missing) == 1
            else tr(
                "No deliveries are recorded of {months}: these months are left out, NOK parts and all",
                months=named(missing),
            )
        )
    latest = found.latest
    if latest is not None and latest.rate is not None and found.year is not None and found.year.known > 1:
        yield _in_month(latest.rate, latest.month)
    if found.before_latest is not None and latest is not None:
        before, compared = found.before_latest
        yield (
            tr(
                "{month} against {span}, {short_rate}: {comparison}",
                month=month_words(latest.month),
                span=span_words(before),
                short_rate=_short_rate(before.rate),
                comparison=comparison_words(compared),
            )
        )
    if found.before_year is not None:
        before, compared = found.before_year
        yield (
            tr(
                "The twelve months against {span}, {short_rate}: {comparison}",
                span=span_words(before),
                short_rate=_short_rate(before.rate),
                comparison=comparison_words(compared),
            )
        )
    if latest is not None and index_of(latest.month) == index_of(found.today):
        yield tr("{month} is not over", month=month_words(latest.month))
    newer = [one for one in found.months if latest is None or one.month > latest.month]
    with_nok = [one for one in newer if one.nok or one.is_least]
    for one in with_nok[:_MOST_NAMED]:
        yield tr(
            "{month}: {nok_of}, {no_deliveries} yet",
            month=month_words(one.month),
            nok_of=_nok_of(one),
            no_deliveries=tr(NO_DELIVERIES),
        )
    if (left := len(with_nok) - _MOST_NAMED) > 0:
        yield trn(
            "{count} earlier month has NOK parts and no deliveries too",
            "{count} earlier months have NOK parts and no deliveries too",
            left,
        )
    if found.at_odds:
        named_ones = [month_words(one.month) for one in found.at_odds[:_MOST_NAMED]]
        more = [tr("others")] if len(found.at_odds) > _MOST_NAMED else []
        yield (
            tr(
                "Recorded twice with different numbers: {months}; the newer record counts "
                "until one is taken back",
                months=named([*named_ones, *more]),
            )
        )
    if found.facts.standing.conflicts:
        yield tr("Entries here were corrected differently on two tablets; a person has to decide")
    if found.later:
        yield trn(
            "{count} month later than today by this tablet's clock is left out",
            "{count} months later than today by this tablet's clock are left out",
            found.later,
        )
    if found.earlier:
        yield trn(
            "{count} month before {month} is not shown; 'walkapp ppm' tells more",
            "{count} months before {month} are not shown; 'walkapp ppm' tells more",
            found.earlier,
            month=month_words(found.months[-1].month),
        )


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
    what = f"{open_ones[0].what!r}" if len(open_ones) == 1 else _concerns(len(open_ones))
    return (f"{what}: {tr(NOT_ESCALATED)}",)


def month_notes(found: StreamPpm, one: MonthPpm) -> tuple[str, ...]:
    """Say what has to be known of the numbers of one month, a sentence each."""
    return tuple(f"{note}." for note in _month_notes(found, one))


def _month_notes(found: StreamPpm, one: MonthPpm) -> Iterator[str]:
    if index_of(one.month) == index_of(found.today):
        yield tr("The month is not over")
    if one.delivered == 0:
        yield tr("Nothing was delivered, so there is no ppm")
    elif one.delivered is not None and one.nok > one.delivered:
        yield tr("More NOK parts than parts delivered: parts of earlier deliveries are among them")
    if one.customer_nok is not None and (gap := one.customer_nok - one.from_concerns):
        values = {
            "customer_nok": whole_text(one.customer_nok),
            "from_concerns": whole_text(one.from_concerns),
            "gap": whole_text(abs(gap)),
        }
        told = (
            tr(
                "The customer counts {customer_nok}, the concerns here {from_concerns}: {gap} more",
                **values,
            )
            if gap > 0
            else tr(
                "The customer counts {customer_nok}, the concerns here {from_concerns}: {gap} fewer",
                **values,
            )
        )
        yield (
            told
            if one.counted_by == "customer"
            else tr("{told}; {nok} count with the other part numbers", told=told, nok=whole_text(one.nok))
        )
    if one.counted_by == "both" and any(not f.concern.part_number for f in one.concerns):
        yield tr(
            "Concerns without a part number count beside the customer's own count; parts may count twice"
        )
    if unknown := len(one.without_quantity):
        yield (
            trn(
                "{count} concern without a quantity; it counts as one part if the customer reported it, so "
                "there are at least so many",
                "{count} concerns without a quantity; each counts as one part if the customer reported it, "
                "so there are at least so many",
                unknown,
            )
            if one.is_least
            else trn(
                "{count} concern without a quantity; the customer's own count stands for it",
                "{count} concerns without a quantity; the customer's own count stands for them",
                unknown,
            )
        )
    if one.is_before_records:
        yield (
            tr(
                "Nothing of this stream was recorded here at that time, so what came back is not "
                "known; type in the customer's own count"
            )
        )
    if opened := len(one.by_opening):
        yield trn(
            "{count} concern without a day of report, counted in the month of its opening",
            "{count} concerns without a day of report, counted in the month of their opening",
            opened,
        )
    if unnamed := len(one.unnamed):
        yield trn(
            "{count} concern without a part number not counted here",
            "{count} concerns without a part number not counted here",
            unnamed,
        )
    if len(one.counted) > 1:
        yield tr("Delivered: the sum of {counted} part numbers", counted=len(one.counted))
    if lacking := _without_deliveries(one):
        yield tr(
            "NOK parts of {lacking} count, but no deliveries of it are recorded", lacking=named(lacking)
        )
    if one.at_odds:
        yield (
            tr(
                "Recorded more than once with different numbers; the newest record counts until "
                "the others are taken back"
            )
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
    delivered = whole_text(record.delivered)
    told = (
        tr("{delivered} delivered", delivered=delivered)
        if record.customer_nok is None
        else tr(
            "{delivered} delivered, {customer_nok} NOK as the customer counts them",
            delivered=delivered,
            customer_nok=whole_text(record.customer_nok),
        )
    )
    if not record.part_number:
        return told
    return tr("part number {part_number}: {told}", part_number=record.part_number, told=told)


def record_origin(record: Deliveries) -> str:
    """Say who recorded it, when, on which tablet and from which file."""
    values = {"at": day_said(record.at[:10]), "by": record.by, "device": short_id(record.device)}
    told = (
        tr("{at} by {by}, tablet {device}, read from {source}", source=record.source, **values)
        if record.source
        else tr("{at} by {by}, tablet {device}", **values)
    )
    return "; ".join(filter(None, (told, said_reason(record.why))))


def month_line(one: MonthPpm) -> str:
    """Say a month in one line, without its name."""
    if one.rate is None:
        return ", ".join((*((_nok_of(one),) if one.concerns or one.nok else ()), tr(NO_DELIVERIES)))
    return ", ".join((counts_words(one.rate), rate_words(one.rate)))


def short_line(one: MonthPpm) -> str:
    """Say the ppm of a month in two words."""
    return tr("no ppm") if one.rate is None else ppm_words(one.rate)


def rolling_words(rolling: Rolling | None, span: int) -> str:
    """Say a rolling value in a few words; empty where there is none."""
    if rolling is None or rolling.rate is None or rolling.rate.ppm is None:
        return ""
    values = {"span": span, "ppm": ppm_words(rolling.rate)}
    if rolling.known == span:
        return tr("{span} months: {ppm}", **values)
    return tr("{span} months: {ppm} ({known} known)", known=rolling.known, **values)


def ppm_lines(found: StreamPpm, target: float | None = None) -> Iterator[str]:
    """Tell the ppm of a stream for a terminal; parameters as for :func:`lines_of`."""
    yield (
        tr("PPM of {stream}, part number {part}", stream=found.facts.name, part=found.part_number)
        if found.part_number
        else tr("PPM of {stream}", stream=found.facts.name)
    )
    for caution in cautions_of(found):
        yield tr("Mind: {caution}", caution=caution)
    yield sentence_of(found)
    yield from lines_of(found, target)
    yield ""
    short, long = (tr("{span} months", span=span) for span in (SHORT, LONG))
    yield (
        f"{tr('month'):<15} {tr('NOK'):>9} {tr('delivered'):>13} {tr('ppm'):>9}  "
        f"{tr('95 % limits of the month'):<40} {short:>11} {long:>11}"
    )
    told = found.told_months
    for one in told:
        yield _table_row(found, one).rstrip()
    if empty := len(found.months) - len(told):
        since = month_words(found.months[empty - 1].month)
        yield (
            tr("Nothing is recorded of {since}.", since=since)
            if empty == 1
            else tr("Nothing is recorded since {since}.", since=since)
        )
    noted = [(one, note) for one in found.months for note in month_notes(found, one)]
    if noted:
        yield ""
        yield from (f"{month_words(one.month)}: {note}" for one, note in noted)
    yield ""
    yield tr("In brackets: of how many months deliveries are recorded, where it is not of all.")
    yield tr(WHERE_FROM)
    yield tr(MODEL)


def _table_row(found: StreamPpm, one: MonthPpm) -> str:
    nok = f"{'>=' if one.is_least else ''}{whole_text(one.nok)}"
    delivered = "-" if one.delivered is None else whole_text(one.delivered)
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
    return (
        tr("no ppm")
        if rate is None or rate.ppm is None
        else tr("{ppm_number} ppm", ppm_number=ppm_number(rate.ppm))
    )


def _concerns(many: int) -> str:
    return trn("{count} concern", "{count} concerns", many)
