"""What goes into an inspection-agreement study, and what comes out of it."""

from __future__ import annotations

from dataclasses import dataclass

from walkapp.analysis.kappa import Kappa
from walkapp.analysis.results import Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One judgement.

    Parameters
    ----------
    part
        Label of the part.
    defective
        The known answer for it.
    inspector
        Role or initials.
    repeat
        1, 2, ...; each inspector judges each part once in each repeat.
    called_nok
        What the inspector said.
    """

    part: str
    defective: bool
    inspector: str
    repeat: int
    called_nok: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NokRate:
    """How often parts of one known answer were called NOK.

    Parameters
    ----------
    nok, readings
        Judgements "NOK", and judgements in all.
    share
        `nok` over `readings`.
    interval
        Exact two-sided interval (Clopper-Pearson) that takes each reading as a part of its own.
    parts
        Parts that were read.
    part_mean
        Mean over the parts of each part's own share; equal to `share` when all were read equally often.
    by_part
        Two-sided interval that takes the parts as the sample, see :mod:`walkapp.analysis.by_part`.
    """

    nok: int
    readings: int
    share: float
    interval: Interval
    parts: int
    part_mean: float
    by_part: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class PartAgreement:
    """On how many parts judgements agree.

    Parameters
    ----------
    agreed, parts
        Parts with agreement, and parts that were read in full.
    share
        `agreed` over `parts`.
    interval
        Exact two-sided interval (Clopper-Pearson); parts are the sample.
    """

    agreed: int
    parts: int
    share: float
    interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class InspectorResult:
    """What the study says of one inspector.

    Parameters
    ----------
    inspector
        Role or initials.
    detection, false_alarm
        How often bad and good parts were called NOK; none when no such part was read.
    within
        Parts judged alike in all repeats; none with a single repeat or no part read in full.
    with_answer
        Parts judged right in all repeats; none when no part was read in full.
    kappa
        Cohen's kappa with the known answer.
    """

    inspector: str
    detection: NokRate | None
    false_alarm: NokRate | None
    within: PartAgreement | None
    with_answer: PartAgreement | None
    kappa: Kappa


@dataclass(frozen=True, slots=True, kw_only=True)
class PairResult:
    """Cohen's kappa between two inspectors; repeat 1 is set against repeat 1, and so on."""

    first: str
    second: str
    kappa: Kappa


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkRates:
    """What feeds the walk.

    Parameters
    ----------
    detection, false_alarm
        For the computation; ``0 < false_alarm < detection < 1``.
    detection_low, false_alarm_high
        The pessimistic pair for the sensitivity view: one-sided limits with parts as the sample;
        ``false_alarm_high < detection_low``.
    confidence
        Of each of the two limits.
    """

    detection: float
    false_alarm: float
    detection_low: float
    false_alarm_high: float
    confidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyResult:
    """What the study says.

    Parameters
    ----------
    inspectors
        One for each, sorted by name.
    detection, false_alarm
        Over all inspectors; none when no bad or no good part was read.
    between
        Parts on which all readings of all inspectors are alike; none when no part was read in full.
    with_answer
        Parts on which all readings of all inspectors are right; none likewise.
    pairs
        One for each pair of inspectors, sorted by name.
    fleiss
        Fleiss' kappa over all readings, each inspector in each repeat as one judge.
    rates
        What feeds the walk; none when the study is not usable.
    is_usable
        Whether the inspectors are shown to tell bad parts from good ones.
    verdict
        The same in one sentence that begins with "Usable" or "Not usable".
    notes
        What a careful colleague would add, the most important first.
    """

    inspectors: tuple[InspectorResult, ...]
    detection: NokRate | None
    false_alarm: NokRate | None
    between: PartAgreement | None
    with_answer: PartAgreement | None
    pairs: tuple[PairResult, ...]
    fleiss: Kappa
    rates: WalkRates | None
    is_usable: bool
    verdict: str
    notes: tuple[str, ...]
