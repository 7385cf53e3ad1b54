"""The one door to the computation: counts along the stream in, the first bad station out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from walkapp.analysis.cautions import find_cautions, plain_rule_index
from walkapp.analysis.guide import advise
from walkapp.analysis.origin import Posterior, most_probable, origin_posterior
from walkapp.analysis.proportions import parts_to_prove_clean, proportion_interval, upper_limit
from walkapp.analysis.results import (
    BAD,
    CLEAN,
    NOT_VISITED,
    SURE,
    SURER,
    UNDECIDED,
    Assumptions,
    OriginAnswer,
    Sensitivity,
    StationTally,
    StationVerdict,
)
from walkapp.analysis.sensitivity import find_sensitivity
from walkapp.analysis.shares import SharePrior
from walkapp.analysis.wording import either, expected_parts, parts_in_words, percent
from walkapp.language import tr, trn
from walkapp.model.checklist import CLEAN_CONFIDENCE, CLEAN_SHARE


def locate(
    stations: Sequence[StationTally],
    *,
    share_low: float = 0.0,
    share_high: float = 1.0,
    here: int | None = None,
    clean_share: float = CLEAN_SHARE,
    clean_confidence: float = CLEAN_CONFIDENCE,
    with_advice: bool = True,
    thorough: bool = True,
) -> OriginAnswer:
    """Find the first station at which the defect appears, and say how sure that is.

    Parameters
    ----------
    stations
        In stream order, at least one; stations without parts belong into it as well.
    share_low, share_high
        Range of the affected share from the origin on, 0 to 1.
    here
        Order of the station at which the walker stands; none when not known.
    clean_share, clean_confidence
        "Clean" means: below this share of affected parts, with this confidence; between 0 and 1.
    with_advice
        Whether to work out where to go next.
    thorough
        Whether to work out as well how much the answer depends on the checks, and how to be surer than
        95 %; it takes several times as long.

    Returns
    -------
    OriginAnswer
        Of stations that are equally probable the one where NOK was seen is named, and the sentence
        names all of them.

    Raises
    ------
    ValueError
        If an argument is out of range.
    CountsError
        If the counts cannot happen under absolute assumptions (see
        :func:`walkapp.analysis.origin.origin_posterior`).

    Examples
    --------
    >>> def station(order, nok):
    ...     tally = Tally(checked=20, nok=nok, detection=0.9, false_alarm=0.005)
    ...     return StationTally(order=order, name=f"Station {order}", tallies=(tally,))
    >>> from walkapp.analysis.results import Tally
    >>> answer = locate([station(1, 0), station(2, 0), station(3, 9), station(4, 11)])
    >>> answer.sentence
    'The defect starts at Station 3 (>99.9 %).'
    """
    share = SharePrior(low=share_low, high=share_high)
    posterior = origin_posterior(stations, share=share)
    assumptions = _assumptions(stations, share, clean_share, clean_confidence)
    verdicts = _verdicts(stations, posterior, assumptions)
    likeliest = most_probable(stations, posterior.origin, posterior.none)
    origin = likeliest[0] if likeliest else None
    plain = plain_rule_index(stations)
    is_sure = max(*posterior.origin, posterior.none) >= SURE
    limits = [verdict.upper_one_sided for verdict in verdicts]
    return OriginAnswer(
        stations=verdicts,
        first_bad_station=None if origin is None else stations[origin].name,
        probability=None if origin is None else posterior.origin[origin],
        plain_rule_station=None if plain is None else stations[plain].name,
        none_probability=posterior.none,
        next=advise(stations, posterior, limits, here) if with_advice else None,
        beyond=advise(stations, posterior, limits, here, SURER)
        if thorough and with_advice and is_sure
        else None,
        sensitivity=(
            find_sensitivity(stations, origin, share) if thorough and origin is not None else None
        ),
        assumptions=assumptions,
        warnings=find_cautions(stations, verdicts, posterior, origin),
        sentence=_sentence(stations, posterior, likeliest),
    )


def answer_to_json(answer: OriginAnswer) -> dict[str, Any]:
    """Turn an answer into JSON values, as the command ``walkapp locate --json`` prints them.

    Parameters
    ----------
    answer
        From :func:`locate`.

    Returns
    -------
    dict
        Keys in the order of the contract; numbers unrounded; none where nothing is known.
    """
    following, beyond = answer.next, answer.beyond
    return {
        "first_bad_station": answer.first_bad_station,
        "probability": answer.probability,
        "plain_rule_station": answer.plain_rule_station,
        "stations": [
            {
                "station": verdict.station,
                "checked": verdict.checked,
                "nok": verdict.nok,
                "share": verdict.share,
                "low95": verdict.interval.low if verdict.interval else None,
                "high95": verdict.interval.high if verdict.interval else None,
                "probability_origin": verdict.probability_origin,
                "verdict": verdict.verdict,
            }
            for verdict in answer.stations
        ],
        "none_probability": answer.none_probability,
        "next": (
            {
                "station": following.station,
                "parts": following.parts,
                "why": following.why,
                "minutes": following.minutes,
                "chance_sure": following.chance_sure,
            }
            if following
            else None
        ),
        "beyond": (
            {"station": beyond.station, "parts": beyond.parts, "probability": SURER} if beyond else None
        ),
        "assumptions": {
            "detection": answer.assumptions.detection,
            "false_alarm": answer.assumptions.false_alarm,
        },
        "sensitivity": _sensitivity_to_json(answer.sensitivity),
        "warnings": list(answer.warnings),
    }


def _sensitivity_to_json(sensitivity: Sensitivity | None) -> dict[str, Any] | None:
    if sensitivity is None:
        return None
    named = {"detection": sensitivity.by_detection, "false_alarm": sensitivity.by_false_alarm}
    tried = {
        rate: [
            {rate: row.value, "first_bad_station": row.station, "probability": row.probability}
            for row in rows
        ]
        for rate, rows in named.items()
    }
    return {"sentence": sensitivity.sentence, **tried}


def _assumptions(
    stations: Sequence[StationTally], share: SharePrior, clean_share: float, clean_confidence: float
) -> Assumptions:
    """Take the least able of the checks used, or of the checks at hand when none was used yet."""
    rates = [(t.detection, t.false_alarm) for s in stations for t in s.tallies if t.checked]
    rates = rates or [(s.next_detection, s.next_false_alarm) for s in stations]
    return Assumptions(
        detection=min(detection for detection, _ in rates),
        false_alarm=max(false_alarm for _, false_alarm in rates),
        share_low=share.low,
        share_high=share.high,
        clean_share=clean_share,
        clean_confidence=clean_confidence,
        is_weighted=len({station.weight for station in stations}) > 1,
    )


def _verdicts(
    stations: Sequence[StationTally], posterior: Posterior, assumptions: Assumptions
) -> tuple[StationVerdict, ...]:
    present = posterior.present
    verdicts = []
    for i, station in enumerate(stations):
        checked, nok = station.checked, station.nok
        verdict = _verdict(checked, nok, present[i])
        missing = None
        if station.can_be_checked and verdict != BAD:
            missing = _missing_parts(station, assumptions.clean_share, assumptions.clean_confidence)
        verdicts.append(
            StationVerdict(
                order=station.order,
                station=station.name,
                checked=checked,
                nok=nok,
                share=nok / checked if checked else None,
                interval=proportion_interval(nok, checked) if checked else None,
                upper_one_sided=upper_limit(nok, checked).high if checked else None,
                probability_origin=posterior.origin[i],
                probability_present=present[i],
                verdict=verdict,
                parts_to_prove_clean=missing,
            )
        )
    return tuple(verdicts)


def _verdict(checked: int, nok: int, present: float) -> str:
    if not checked:
        return NOT_VISITED
    if nok and present >= SURE:
        return BAD
    if not nok and present <= 1.0 - SURE:
        return CLEAN
    return UNDECIDED


def _missing_parts(station: StationTally, clean_share: float, confidence: float) -> int:
    """Further OK parts, by the next check, that would show the station to be clean."""
    if station.nok:
        # With NOK seen there is no simple exchange of checks: all count as the weakest.
        detection = min([station.next_detection, *(t.detection for t in station.tallies if t.checked)])
        return parts_to_prove_clean(clean_share, confidence, detection, station.checked, station.nok)
    needed = parts_to_prove_clean(clean_share, confidence, station.next_detection)
    return max(0, needed - _equal_parts(station, clean_share))


def _equal_parts(station: StationTally, clean_share: float) -> int:
    """Count the OK parts seen, in parts of the next check: a weaker check counts for less."""
    same = sum(t.checked for t in station.tallies if t.detection == station.next_detection)
    others = math.fsum(
        t.checked * math.log1p(-clean_share * t.detection)
        for t in station.tallies
        if t.detection != station.next_detection
    )
    return same + math.floor(others / math.log1p(-clean_share * station.next_detection))


def _sentence(stations: Sequence[StationTally], posterior: Posterior, likeliest: Sequence[int]) -> str:
    if not likeliest:
        return _nothing_named(stations, posterior)
    chance = posterior.origin[likeliest[0]]
    names = either([stations[i].name for i in sorted(likeliest)])
    if len(likeliest) > 1:
        return tr(
            "Most likely the defect starts at {names} ({chance} each); the parts checked so "
            "far cannot tell them apart.",
            names=names,
            chance=percent(chance),
        )
    if chance >= SURE:
        return tr(
            "The defect {starts_at} ({chance}).",
            starts_at=_starts_at(stations[likeliest[0]]),
            chance=percent(chance),
        )
    others = [(p, _starts_at(stations[i])) for i, p in enumerate(posterior.origin) if i not in likeliest]
    second, what = max([*others, (posterior.none, tr("is not in this stream at all"))])
    return tr(
        "Most likely the defect {starts_at} ({chance}); next most likely it {what} ({second}).",
        starts_at=_starts_at(stations[likeliest[0]]),
        chance=percent(chance),
        what=what,
        second=percent(second),
    )


def _starts_at(station: StationTally) -> str:
    return (
        tr("comes in with {station}", station=station.name)
        if station.order == 0
        else tr("starts at {station}", station=station.name)
    )


def _nothing_named(stations: Sequence[StationTally], posterior: Posterior) -> str:
    visited = [station for station in stations if station.checked]
    checked, nok = sum(s.checked for s in visited), sum(s.nok for s in visited)
    if not visited:
        return tr("Nothing was checked yet, so nothing is known about where the defect starts.")
    seen = trn(
        "{parts} at {count} station",
        "{parts} at {count} stations",
        len(visited),
        parts=parts_in_words(checked),
    )
    if not nok:
        if posterior.none >= SURE:
            return tr(
                "No NOK in {seen}: the defect is not present in this stream ({none}).",
                seen=seen,
                none=percent(posterior.none),
            )
        return tr(
            "No NOK in {seen}, which does not prove that the defect is absent: {none} that "
            "it is not present in this stream.",
            seen=seen,
            none=percent(posterior.none),
        )
    expected = expected_parts(math.fsum(t.checked * t.false_alarm for s in visited for t in s.tallies))
    best = max(range(len(stations)), key=lambda i: posterior.origin[i])
    return tr(
        "No station is named: {nok} NOK in {seen} may be false alarms ({expected} expected); "
        "{none} that the defect is not present in this stream, {origin} that it {starts_at}.",
        nok=nok,
        seen=seen,
        expected=expected,
        none=percent(posterior.none),
        origin=percent(posterior.origin[best]),
        starts_at=_starts_at(stations[best]),
    )
