"""Inspection agreement: how well inspectors tell bad parts from good ones, from a blind study.

Parts with known answers are judged by two or more inspectors, several times each, in an order that
tells nothing. The results are detection and false alarm as the walk's computation needs them, and
how far inspectors agree with themselves, with each other and with the known answer.

Readings of the same part are not independent: a part whose defect is hard to see is missed again and
again. So each share has two intervals: one that counts readings as if each were a part of its own
(common practice, too narrow when parts differ), and one that takes **parts** as the sample. Only the
second one feeds the walk and decides the verdict. Inspectors are not a sample: what is said holds for
these inspectors (or those trained and equipped alike), not for any inspector.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from walkapp.analysis.agreement_results import (
    InspectorResult,
    NokRate,
    PairResult,
    PartAgreement,
    Reading,
    StudyResult,
    WalkRates,
)
from walkapp.analysis.by_part import are_told_apart, interval_by_part, lower_by_part
from walkapp.analysis.kappa import Kappa, Table, cohens_kappa_by_part, fleiss_kappa
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.study_plan import least_of_each
from walkapp.analysis.wording import named, share_from, share_range, share_to
from walkapp.errors import InputError
from walkapp.language import tr


@dataclass(frozen=True, slots=True)
class _Study:
    """Readings by part, and within a part by inspector and repeat."""

    truth: Mapping[str, bool]
    calls: Mapping[str, Mapping[tuple[str, int], bool]]
    inspectors: tuple[str, ...]
    repeats: tuple[int, ...]

    def of(self, inspectors: Sequence[str]) -> dict[str, list[bool]]:
        """All readings of each part by these inspectors."""
        return {
            part: [nok for (inspector, _), nok in calls.items() if inspector in inspectors]
            for part, calls in self.calls.items()
        }

    def in_full(self, inspectors: Sequence[str]) -> dict[str, list[bool]]:
        """The same, of the parts that these inspectors read in every repeat."""
        full = len(inspectors) * len(self.repeats)
        return {part: calls for part, calls in self.of(inspectors).items() if calls and len(calls) == full}


def study_agreement(readings: Iterable[Reading], confidence: float = 0.95) -> StudyResult:
    """Work out what a study says.

    Parameters
    ----------
    readings
        In any order; some may be missing, none at all is allowed.
    confidence
        Two-sided for intervals, one-sided for the pessimistic pair; above 0 and below 1.

    Returns
    -------
    StudyResult
        Shares use every reading. "All repeats" and Fleiss' kappa use only the parts that were read in
        every repeat that the study has, so that a part read once does not count as always alike.

    Raises
    ------
    ValueError
        If a repeat is below 1 or the confidence is out of range.
    InputError
        If a part has two known answers, or an inspector two answers for a part in one repeat.

    Notes
    -----
    Rule for the walk: detection = (sum of the bad parts' shares of NOK + 1/2) / (bad parts + 1), false
    alarm likewise from the good parts: the posterior mean with Jeffreys' prior Beta(1/2, 1/2) (H.
    Jeffreys, Theory of Probability, 3rd ed. 1961), each part counting once however often it was read.
    So 0 false alarms on 20 good parts give 0.5 / 21 and not 0. The pessimistic pair are the one-sided
    limits by part. The study is usable when the two-sided intervals by part do not overlap and the
    detection is the higher one; that is stricter than a test of the difference (N. Schenker and J. F.
    Gentleman 2001, The American Statistician 55, 182-186).

    Examples
    --------
    Invented: one inspector, 12 bad parts of which one is missed, 20 good parts.

    >>> result = study_agreement(
    ...     Reading(part=f"P{i}", defective=i < 12, inspector="auditor", repeat=1, called_nok=0 < i < 12)
    ...     for i in range(32)
    ... )
    >>> result.is_usable, round(result.rates.detection, 3), round(result.rates.false_alarm, 3)
    (True, 0.885, 0.024)
    >>> round(result.rates.detection_low, 3), round(result.rates.false_alarm_high, 3)
    (0.661, 0.139)
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence must be above 0 and below 1, not {confidence!r}")
    study = _collect(readings)
    everybody = study.inspectors
    detection = _rate(study, everybody, defective=True, confidence=confidence)
    false_alarm = _rate(study, everybody, defective=False, confidence=confidence)
    inspectors = tuple(_inspector(study, inspector, confidence) for inspector in everybody)
    full = study.in_full(everybody)
    rates, verdict = _judge(study, detection, false_alarm, confidence)
    return StudyResult(
        inspectors=inspectors,
        detection=detection,
        false_alarm=false_alarm,
        between=_agreement([len(set(calls)) == 1 for calls in full.values()], confidence)
        if len(everybody) * len(study.repeats) > 1
        else None,
        with_answer=_all_right(study, full, confidence),
        pairs=tuple(
            PairResult(first=a, second=b, kappa=_pair(study, a, b, confidence))
            for a, b in itertools.combinations(everybody, 2)
        ),
        fleiss=fleiss_kappa([(sum(c), len(c) - sum(c)) for c in full.values()], confidence),
        rates=rates,
        is_usable=rates is not None,
        verdict=verdict,
        notes=_notes(study, inspectors, rates is not None),
    )


def _collect(readings: Iterable[Reading]) -> _Study:
    truth: dict[str, bool] = {}
    calls: dict[str, dict[tuple[str, int], bool]] = {}
    for reading in readings:
        if reading.repeat < 1:
            raise ValueError(f"repeat must be at least 1, not {reading.repeat!r}")
        if truth.setdefault(reading.part, reading.defective) != reading.defective:
            raise InputError(
                tr(
                    "The part {part} has two known answers in this study, bad and good; settle "
                    "which is right.",
                    part=reading.part,
                )
            )
        turn = (reading.inspector, reading.repeat)
        if turn in calls.setdefault(reading.part, {}):
            raise InputError(
                tr(
                    "{inspector} judged the part {part} twice in repeat {repeat}; keep one of "
                    "the two readings.",
                    inspector=reading.inspector,
                    part=reading.part,
                    repeat=reading.repeat,
                )
            )
        calls[reading.part][turn] = reading.called_nok
    turns = {turn for by_turn in calls.values() for turn in by_turn}
    return _Study(
        truth=truth,
        calls=calls,
        inspectors=tuple(sorted({inspector for inspector, _ in turns})),
        repeats=tuple(sorted({repeat for _, repeat in turns})),
    )


def _shares(study: _Study, inspectors: Sequence[str], defective: bool) -> list[Fraction]:
    """For each part with the known answer and a reading, the share of readings that were NOK."""
    return [
        Fraction(sum(calls), len(calls))
        for part, calls in study.of(inspectors).items()
        if calls and study.truth[part] == defective
    ]


def _rate(
    study: _Study, inspectors: Sequence[str], *, defective: bool, confidence: float
) -> NokRate | None:
    shares = _shares(study, inspectors, defective)
    if not shares:
        return None
    chosen = [
        nok for p, calls in study.of(inspectors).items() if study.truth[p] == defective for nok in calls
    ]
    return NokRate(
        nok=sum(chosen),
        readings=len(chosen),
        share=sum(chosen) / len(chosen),
        interval=proportion_interval(sum(chosen), len(chosen), confidence),
        parts=len(shares),
        part_mean=float(sum(shares) / len(shares)),
        by_part=interval_by_part(shares, confidence),
    )


def _agreement(agree: Sequence[bool], confidence: float) -> PartAgreement | None:
    if not agree:
        return None
    return PartAgreement(
        agreed=sum(agree),
        parts=len(agree),
        share=sum(agree) / len(agree),
        interval=proportion_interval(sum(agree), len(agree), confidence),
    )


def _all_right(
    study: _Study, full: Mapping[str, Sequence[bool]], confidence: float
) -> PartAgreement | None:
    return _agreement([set(calls) == {study.truth[part]} for part, calls in full.items()], confidence)


def _inspector(study: _Study, inspector: str, confidence: float) -> InspectorResult:
    full = study.in_full([inspector])
    tables = [
        _table((study.truth[part], nok) for nok in calls) for part, calls in study.of([inspector]).items()
    ]
    return InspectorResult(
        inspector=inspector,
        detection=_rate(study, [inspector], defective=True, confidence=confidence),
        false_alarm=_rate(study, [inspector], defective=False, confidence=confidence),
        within=_agreement([len(set(calls)) == 1 for calls in full.values()], confidence)
        if len(study.repeats) > 1
        else None,
        with_answer=_all_right(study, full, confidence),
        kappa=cohens_kappa_by_part(tables, confidence),
    )


def _pair(study: _Study, first: str, second: str, confidence: float) -> Kappa:
    tables = [
        _table(
            (calls[first, repeat], calls[second, repeat])
            for repeat in study.repeats
            if (first, repeat) in calls and (second, repeat) in calls
        )
        for calls in study.calls.values()
    ]
    return cohens_kappa_by_part(tables, confidence)


def _table(pairs: Iterable[tuple[bool, bool]]) -> Table:
    table = [[0, 0], [0, 0]]
    for first, second in pairs:
        table[first][second] += 1
    return table


def _judge(
    study: _Study, detection: NokRate | None, false_alarm: NokRate | None, confidence: float
) -> tuple[WalkRates | None, str]:
    if detection is None or false_alarm is None:
        if detection is None and false_alarm is None:
            return None, tr("Not usable: no part known to be bad or good was read; both kinds are needed.")
        if detection is None:
            return None, tr("Not usable: no part known to be bad was read; both kinds are needed.")
        return None, tr("Not usable: no part known to be good was read; both kinds are needed.")
    seen = tr(
        "bad parts are called NOK in {part_mean} of readings ({low} with parts as the "
        "sample), good parts in {part_mean2} ({low2})",
        part_mean=share_from(detection.part_mean),
        low=share_range(detection.by_part.low, detection.by_part.high),
        part_mean2=share_to(false_alarm.part_mean),
        low2=share_range(false_alarm.by_part.low, false_alarm.by_part.high),
    )
    if are_told_apart(false_alarm.by_part, detection.by_part):
        return None, tr(
            "Not usable: {seen}; good parts more often than bad ones, so OK and NOK or the "
            "known answers may be swapped.",
            seen=seen,
        )
    bad = _shares(study, study.inspectors, defective=True)
    good = _shares(study, study.inspectors, defective=False)
    if not are_told_apart(detection.by_part, false_alarm.by_part):
        best = [interval_by_part([k] * len(kind), confidence) for k, kind in ((1, bad), (0, good))]
        if are_told_apart(*best):
            return None, tr(
                "Not usable: {seen}; the ranges overlap, so it is not shown that these "
                "inspectors tell bad parts from good ones.",
                seen=seen,
            )
        return None, tr(
            "Not usable: {seen}; the ranges overlap, so it is not shown that these inspectors tell bad "
            "parts from good ones, which so few parts cannot show; {least_of_each}.",
            seen=seen,
            least_of_each=least_of_each(confidence),
        )
    rates = WalkRates(
        detection=float((sum(bad) + Fraction(1, 2)) / (len(bad) + 1)),
        false_alarm=float((sum(good) + Fraction(1, 2)) / (len(good) + 1)),
        detection_low=lower_by_part(bad, 1.0 - confidence),
        false_alarm_high=1.0 - lower_by_part([1 - share for share in good], 1.0 - confidence),
        confidence=confidence,
    )
    return rates, tr("Usable: {seen}; the ranges do not overlap.", seen=seen)


def _notes(study: _Study, inspectors: Sequence[InspectorResult], is_usable: bool) -> tuple[str, ...]:
    notes = []
    unsure = [
        one.inspector
        for one in inspectors
        if one.detection is None
        or one.false_alarm is None
        or not are_told_apart(one.detection.by_part, one.false_alarm.by_part)
    ]
    if is_usable and unsure:
        notes.append(
            tr(
                "For {unsure} alone it is not shown that bad and good parts are told apart; the "
                "rates hold for all inspectors together.",
                unsure=named(unsure),
            )
        )
    planned = len(study.calls) * len(study.inspectors) * len(study.repeats)
    missing = planned - sum(len(calls) for calls in study.calls.values())
    if missing:
        notes.append(
            tr(
                "{missing} of {planned} readings are missing: what asks for all repeats leaves "
                "out the parts concerned.",
                missing=missing,
                planned=planned,
            )
        )
    if any(len(calls) > 1 for calls in study.calls.values()):
        notes.append(
            tr(
                "Readings of the same part are not independent: the walk uses the limits with "
                "parts as the sample; intervals that count every reading are too narrow when "
                "some parts are harder to judge than others."
            )
        )
    return tuple(notes)
