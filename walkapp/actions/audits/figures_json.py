"""What audits say as JSON values: always the same names, numbers unrounded, null where nothing is known."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from walkapp.actions.audits.figures import AuditFigures
from walkapp.actions.audits.telling import headline
from walkapp.analysis.audits.completion import CENSUS, Completion
from walkapp.analysis.audits.conformity import INTERVAL_NOTE, Conformity
from walkapp.analysis.audits.facts import Prompt
from walkapp.analysis.audits.findings import AGES, Ageing, Repeat
from walkapp.language import tr


def figures_to_json(found: AuditFigures) -> dict[str, Any]:
    """Turn the figures of one stream into JSON values."""
    return {
        "stream": found.stream.id,
        "stream_name": found.stream.name,
        "from": found.span.first.isoformat(),
        "to": found.span.last.isoformat(),
        "sentence": headline(found.completion.all, found.span),
        "completion": _completion_results(found),
        "conformity": _conformity_results(found),
        "findings": {**asdict(found.findings), "share_corrected": found.findings.share_corrected},
        "repeats": {
            "within_days": found.repeats.within_days,
            "findings": found.repeats.findings,
            "repeats": found.repeats.repeats,
            "share": found.repeats.share,
            "each": [_repeat(found, repeat) for repeat in found.repeats.each],
        },
        "open_findings": _ageing(found.ageing),
        "prompts": [_prompt(prompt) for prompt in found.prompts],
        "disagreements": [_prompt(prompt) for prompt in found.disagreements],
        "beyond_plan": found.beyond_plan,
        "done_twice": found.done_twice,
        "without_signature": found.without_signature,
        "notes": [tr(CENSUS), tr(INTERVAL_NOTE)],
    }


def _completion_results(found: AuditFigures) -> dict[str, Any]:
    names, results = found.layer_names, found.completion
    return {
        "all": _completion(results.all),
        "by_layer": [
            {"layer": layer, "layer_name": names.get(layer, layer), **_completion(one)}
            for layer, one in results.by_layer.items()
        ],
        "by_shift": [{"shift": shift, **_completion(one)} for shift, one in results.by_shift.items()],
        "by_week": [{"week": week, **_completion(one)} for week, one in results.by_week.items()],
        "by_station": [
            {
                "station": one.station,
                "station_name": found.station_name(one.station),
                "visits": one.visits,
                "last_on": one.last_on.isoformat() if one.last_on else None,
                **_completion(one.planned),
            }
            for one in results.by_station
        ],
    }


def _completion(one: Completion) -> dict[str, Any]:
    return {**asdict(one), "share_in_time": one.share_in_time}


def _conformity_results(found: AuditFigures) -> dict[str, Any]:
    names, results = found.layer_names, found.conformity
    return {
        "all": _conformity(results.all),
        "by_layer": [
            {"layer": layer, "layer_name": names.get(layer, layer), **_conformity(one)}
            for layer, one in results.by_layer.items()
        ],
        "by_station": [
            {"station": station, "station_name": found.station_name(station), **_conformity(one)}
            for station, one in results.by_station.items()
        ],
        "by_question": [
            {
                "station": one.station,
                "station_name": found.station_name(one.station),
                "ref": one.ref,
                "asked": one.asked,
                **_conformity(one.conformity),
                "often_not_applicable": one.is_often_not_applicable,
            }
            for one in results.by_question
        ],
    }


def _conformity(one: Conformity) -> dict[str, Any]:
    return {
        "ok": one.ok,
        "nok": one.nok,
        "not_applicable": one.not_applicable,
        "share": one.share,
        "low95": one.interval.low if one.interval else None,
        "high95": one.interval.high if one.interval else None,
        "share_not_applicable": one.share_not_applicable,
    }


def _repeat(found: AuditFigures, repeat: Repeat) -> dict[str, Any]:
    return {
        "station": repeat.station,
        "station_name": found.station_name(repeat.station),
        "ref": repeat.ref,
        "asked": repeat.asked,
        "findings": [
            {
                "finding": one.id,
                "audit": one.audit,
                "layer": one.layer,
                "shift": one.shift,
                "found_on": one.found_on.isoformat(),
                "reaction": one.reaction or None,
                "is_open": one.is_open,
                "is_overdue": one.is_overdue,
            }
            for one in repeat.findings
        ],
    }


def _ageing(found: Ageing) -> dict[str, Any]:
    return {
        "open": found.open,
        "by_age": [
            {"from_days": low, "to_days": high, "findings": count}
            for (low, high), count in zip(AGES, found.by_age, strict=True)
        ],
        "overdue": found.overdue,
        "no_reaction": found.no_reaction,
        "median_days": found.median_days,
        "longest_days": found.longest_days,
    }


def _prompt(prompt: Prompt) -> dict[str, Any]:
    return {
        "kind": prompt.kind,
        "where": prompt.where,
        "sentence": prompt.sentence,
        "lines": list(prompt.lines),
        "p": prompt.p,
    }
