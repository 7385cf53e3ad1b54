"""The ppm of a stream as JSON values, for programs."""

from __future__ import annotations

import math
from typing import Any

from walkapp.actions.ppm import LONG, SHORT, Rolling, StreamPpm
from walkapp.actions.ppm_months import MonthPpm
from walkapp.actions.ppm_telling import cautions_of, lines_of, month_notes, sentence_of
from walkapp.analysis.ppm import AgainstTarget, PpmRate, RateComparison
from walkapp.analysis.results import Interval


def ppm_to_json(found: StreamPpm, target: float | None = None) -> dict[str, Any]:
    """Turn the ppm of a stream into JSON values; null for what is not known."""
    return {
        "stream": found.stream,
        "name": found.facts.name,
        "part_number": found.part_number,
        "sentence": sentence_of(found),
        "lines": list(lines_of(found, target)),
        "cautions": list(cautions_of(found)),
        "year": _rolling_to_json(found.year),
        "against_target": _against_to_json(found.against(target)),
        "latest_month": None if found.latest is None else found.latest.month.isoformat()[:7],
        "latest_against_before": _compared_to_json(found.before_latest),
        "year_against_before": _compared_to_json(found.before_year),
        "months": [_month_to_json(found, one) for one in found.months],
        "months_before": found.earlier,
        "months_after": found.later,
        "model": "poisson",
    }


def _month_to_json(found: StreamPpm, one: MonthPpm) -> dict[str, Any]:
    return {
        "month": one.month.isoformat()[:7],
        "delivered": one.delivered,
        "nok": one.nok,
        "is_least": one.is_least,
        "counted_by": one.counted_by,
        "customer_nok": one.customer_nok,
        "from_concerns": one.from_concerns,
        "concerns": [facts.id for facts in one.concerns],
        "at_odds": [record.id for record in one.at_odds],
        **_rate_to_json(one.rate),
        "rolling_3": _rolling_to_json(found.rolling(SHORT, one.month)),
        "rolling_12": _rolling_to_json(found.rolling(LONG, one.month)),
        "notes": list(month_notes(found, one)),
    }


def _rolling_to_json(rolling: Rolling | None) -> dict[str, Any] | None:
    if rolling is None:
        return None
    return {
        "from": rolling.first.isoformat()[:7],
        "to": rolling.last.isoformat()[:7],
        "months": rolling.span,
        "months_with_deliveries": rolling.known,
        "delivered": rolling.rate.delivered if rolling.rate else None,
        "nok": rolling.rate.nok if rolling.rate else None,
        "is_least": rolling.rate.is_least if rolling.rate else None,
        **_rate_to_json(rolling.rate),
    }


def _rate_to_json(rate: PpmRate | None) -> dict[str, Any]:
    return {
        "ppm": rate.ppm if rate else None,
        "limits": _interval_to_json(rate.limits if rate else None),
        "lower": _interval_to_json(rate.lower if rate else None),
        "upper": _interval_to_json(rate.upper if rate else None),
    }


def _interval_to_json(interval: Interval | None) -> dict[str, Any] | None:
    if interval is None:
        return None
    return {
        "low": interval.low,
        "high": None if math.isinf(interval.high) else interval.high,
        "confidence": interval.confidence,
        "sides": interval.sides,
    }


def _against_to_json(found: AgainstTarget | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "target": found.target,
        "state": found.state,
        "confidence": found.confidence,
        "further_parts": found.further_parts,
    }


def _compared_to_json(found: tuple[Rolling, RateComparison] | None) -> dict[str, Any] | None:
    if found is None:
        return None
    before, compared = found
    ratio = compared.ratio
    return {
        "before": _rolling_to_json(before),
        "p": compared.p,
        "is_shown": compared.is_shown,
        "ratio": None if ratio is None or math.isinf(ratio) else ratio,
        "ratio_limits": _interval_to_json(compared.interval),
    }
