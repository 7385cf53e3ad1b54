"""What a summary tells of containment: lines for a terminal, and JSON values."""

from __future__ import annotations

from typing import Any

from walkapp.actions.clean_points import CleanPointFacts
from walkapp.actions.containment import ContainmentFacts, StockFacts
from walkapp.analysis.containment import Balance
from walkapp.language import msgn, tr, trn, whole_text


def containment_lines(found: ContainmentFacts) -> tuple[str, ...]:
    """Tell it for a terminal; nothing while nothing was recorded."""
    if not found.is_begun:
        return ()
    account = found.account
    said = [
        account.sentence,
        balance_words(account.total),
        account.found_sentence,
        account.expected_sentence,
        *(
            tr(
                "{one}: {located} found, {balance}",
                one=one.name,
                located=whole_text(one.balance.located),
                balance=balance_words(one.balance),
            )
            for one in found.stocks
        ),
        *(
            tr("Clean point {one}: {sentence}", one=one.name, sentence=one.support.sentence)
            for one in found.clean_points
        ),
        found.since_escape[1],
        found.why,
        *(tr("Mind: {warning}", warning=warning) for warning in found.warnings),
    ]
    return (tr("Containment:"), *(f"  {line}" for line in said if line))


def balance_words(balance: Balance) -> str:
    """Say what became of suspect parts; nothing where there are none.

    Examples
    --------
    >>> balance_words(Balance(located=100, checked=60, nok=3, released=50, scrapped=3, to_sort=40))
    '40 to sort, 7 waiting, 50 released, 3 scrapped; 60 sorted, 3 NOK'
    >>> balance_words(Balance(located=100, to_sort=100))
    '100 to sort'
    """
    states = (
        (balance.to_sort, msgn("{count} to sort", "{count} to sort")),
        (balance.waiting, msgn("{count} waiting", "{count} waiting")),
        (balance.released, msgn("{count} released", "{count} released")),
        (balance.all_scrapped, msgn("{count} scrapped", "{count} scrapped")),
    )
    said = ", ".join(trn(*words, parts) for parts, words in states if parts)
    if not balance.checked:
        return said
    values = {"checked": whole_text(balance.checked), "nok": whole_text(balance.nok)}
    work = (
        tr(
            "{checked} sorted, {nok} NOK, {reworked} reworked",
            reworked=whole_text(balance.reworked),
            **values,
        )
        if balance.reworked
        else tr("{checked} sorted, {nok} NOK", **values)
    )
    return "; ".join(filter(None, (said, work)))


def containment_to_json(found: ContainmentFacts) -> dict[str, Any]:
    """Turn it into JSON values; numbers unrounded, none where nothing is known."""
    account = found.account
    share, expected, suspect = account.total.share, account.expected, found.suspect_range
    return {
        "is_contained": found.is_contained,
        "why": found.why,
        "made": account.made,
        "made_from": suspect.made_from or None if suspect else None,
        "made_to": suspect.made_to or None if suspect else None,
        "not_accounted_for": account.unaccounted,
        "more_located_than_made": account.surplus,
        **_balance_to_json(account.total),
        "nok_low95": share.low if share else None,
        "nok_high95": share.high if share else None,
        "expected_nok_low95": expected[0] if expected else None,
        "expected_nok_high95": expected[1] if expected else None,
        "places": [_stock_to_json(one) for one in found.stocks],
        "clean_points": [_clean_to_json(one) for one in found.clean_points],
        "escapes": [
            {"found_on": one.found_on, "where": one.where, "quantity": one.quantity}
            for one in found.escapes
        ],
        "days_since_escape": found.since_escape[0],
        "detection": found.detection,
        "warnings": list(found.warnings),
    }


def _balance_to_json(balance: Balance) -> dict[str, int]:
    return {
        "located": balance.located,
        "sorted": balance.checked,
        "nok": balance.nok,
        "reworked": balance.reworked,
        "released": balance.released,
        "scrapped": balance.scrapped,
        "scrapped_unsorted": balance.scrapped_unsorted,
        "waiting": balance.waiting,
        "to_sort": balance.to_sort,
        "more_sorted_than_located": balance.over,
    }


def _stock_to_json(one: StockFacts) -> dict[str, Any]:
    return {"place": one.name, "kind": one.stock.place, **_balance_to_json(one.balance)}


def _clean_to_json(one: CleanPointFacts) -> dict[str, Any]:
    return {
        "clean_point": one.name,
        "holds": one.holds,
        "checked": one.point.checked,
        "lot_size": one.point.lot_size,
        "detection": one.support.detection,
        "share_below95": one.support.share,
        "sentence": one.support.sentence,
    }
