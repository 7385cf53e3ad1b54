"""Planning an inspection-agreement study: the blind order, and what a study can show at best."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from walkapp.analysis.by_part import are_told_apart, interval_by_part
from walkapp.analysis.proportions import parts_to_prove_clean, upper_limit
from walkapp.analysis.seeded import in_seeded_order
from walkapp.analysis.wording import parts_in_words, percent, percent_at_most
from walkapp.errors import InputError
from walkapp.language import tr

_ORDER = "walkapp blind order 1"  # no text: a seed, the same in every language
"""Kept apart from every other use of the same seed; a new number would be a new order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyPart:
    """One part of the study.

    Parameters
    ----------
    label
        What is written on the part; it must not give the answer away.
    defective
        The known answer.
    """

    label: str
    defective: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyRound:
    """All parts once, by one inspector.

    Parameters
    ----------
    inspector
        Role or initials.
    repeat
        1, 2, ...
    parts
        Labels in the order in which the parts are handed over.
    """

    inspector: str
    repeat: int
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyAdvice:
    """What a study of a given size can show at best.

    Parameters
    ----------
    detection_low
        One-sided lower limit of the detection when no bad part is ever missed; parts are the sample.
    false_alarm_high
        One-sided upper limit of the false alarm when no good part is ever called NOK.
    confidence
        Of each of the two limits.
    readings
        Judgements in all.
    can_be_usable
        Whether a study without a mistake would be called usable.
    sentences
        The same for people, the most important first.
    """

    detection_low: float
    false_alarm_high: float
    confidence: float
    readings: int
    can_be_usable: bool
    sentences: tuple[str, ...]


def blind_plan(
    parts: Sequence[StudyPart], inspectors: Sequence[str], repeats: int, seed: str
) -> tuple[StudyRound, ...]:
    """Lay down in which order each inspector gets the parts.

    Parameters
    ----------
    parts
        At least one bad and one good part, each label once; their sequence does not matter.
    inspectors
        At least one, each once; the order of one inspector does not depend on the others.
    repeats
        At least 1.
    seed
        Any text; the same one gives the same plan on every tablet.

    Returns
    -------
    tuple of StudyRound
        Repeat 1 of all inspectors, then repeat 2, ...; so that an inspector's repeats lie apart.

    Raises
    ------
    ValueError
        If `repeats` is below 1.
    InputError
        If a name is empty or given twice, nobody inspects, or bad or good parts are missing.

    Notes
    -----
    No random number generator is used, because its shuffle may change with the version of Python. The
    parts are sorted by the SHA-256 of order mark, seed, inspector, repeat, attempt and label (UTF-8,
    each with its length in bytes in front, so that no two lists of texts run together). An order that
    starts with the part that ended the inspector's repeat before is drawn again with the next attempt
    (0, 1, ...). So it is our own rule that all orders that are allowed are equally probable; common
    practice, no source, asks only for a random order that the inspector does not know.

    Examples
    --------
    >>> parts = [StudyPart(label=label, defective=label in "BD") for label in "ABCDE"]
    >>> for round in blind_plan(parts, ["shift lead"], 2, "ear cracks"):
    ...     print(round.repeat, *round.parts)
    1 B C A E D
    2 A B C E D
    """
    if repeats < 1:
        raise ValueError(f"repeats must be at least 1, not {repeats!r}")
    labels = [part.label for part in parts]
    _check_names(labels, "part")
    _check_names(inspectors, "inspector")
    if not inspectors:
        raise InputError(tr("The study has no inspector; name at least one, better two or three."))
    if len({part.defective for part in parts}) < 2:
        raise InputError(
            tr(
                "The study needs parts known to be bad and parts known to be good, because "
                "otherwise an inspector who always says the same looks perfect; add the kind "
                "that is missing."
            )
        )
    plan: list[StudyRound] = []
    last: dict[str, str] = {}
    for repeat in range(1, repeats + 1):
        for inspector in inspectors:
            order = _shuffled(labels, (_ORDER, seed, inspector, str(repeat)), last.get(inspector))
            last[inspector] = order[-1]
            plan.append(StudyRound(inspector=inspector, repeat=repeat, parts=order))
    return tuple(plan)


def _check_names(names: Sequence[str], what: str) -> None:
    if not all(name.strip() for name in names):
        raise InputError(tr("A name of the study's {what}s is empty; give each {what} a name.", what=what))
    twice = next((name for i, name in enumerate(names) if name in names[:i]), None)
    if twice is not None:
        raise InputError(
            tr(
                "The {what} {twice} is named twice in the study; give each {what} its own name.",
                what=what,
                twice=twice,
            )
        )


def _shuffled(labels: Sequence[str], key: tuple[str, ...], not_first: str | None) -> tuple[str, ...]:
    # Each attempt succeeds with a chance of at least one half, since there are two parts or more.
    for attempt in itertools.count():
        start = (*key, str(attempt))
        order = in_seeded_order(labels, start)
        if order[0] != not_first:
            return order
    raise AssertionError("unreachable")


def bad_parts_needed(detection: float, confidence: float = 0.95) -> int:
    """Count the bad parts that show a detection of at least `detection` when none is ever missed.

    Parameters
    ----------
    detection
        Above 0 and below 1.
    confidence
        One-sided, above 0 and below 1.

    Returns
    -------
    int
        The smallest n with ``detection ** n <= 1 - confidence`` (success run).

    Raises
    ------
    ValueError
        If an argument is out of range.

    Examples
    --------
    >>> bad_parts_needed(0.90)
    29
    """
    if not 0.0 < detection < 1.0:
        raise ValueError(f"detection must be above 0 and below 1, not {detection!r}")
    # 1 - 0.9 is meant as 0.1, not as 0.09999999999999998.
    return parts_to_prove_clean(float(1 - Fraction(repr(float(detection)))), confidence)


def good_parts_needed(false_alarm: float, confidence: float = 0.95) -> int:
    """Count the good parts that show a false alarm of at most `false_alarm` when none is called NOK.

    Parameters
    ----------
    false_alarm
        Above 0 and at most 1.
    confidence
        One-sided, above 0 and below 1.

    Returns
    -------
    int
        The smallest n with ``(1 - false_alarm) ** n <= 1 - confidence`` (success run).

    Raises
    ------
    ValueError
        If an argument is out of range.

    Examples
    --------
    >>> good_parts_needed(0.05), good_parts_needed(0.005)
    (59, 598)
    """
    return parts_to_prove_clean(false_alarm, confidence)


def study_advice(
    bad: int, good: int, inspectors: int, repeats: int, confidence: float = 0.95
) -> StudyAdvice:
    """Say what a study of this size can show at best, before anybody does it.

    Parameters
    ----------
    bad, good
        Parts with the known answer bad and good, at least 1 each.
    inspectors, repeats
        At least 1 each.
    confidence
        One-sided for the two limits, above 0 and below 1.

    Returns
    -------
    StudyAdvice
        With b bad parts and no miss the detection is at least ``(1 - confidence) ** (1 / b)``;
        with g good parts and no false alarm that is at most ``1 - (1 - confidence) ** (1 / g)``.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    Inspectors and repeats do not enter the limits: reading the same ten parts nine times does not tell
    how other parts would be judged. They are needed for agreement. The number of 2 to 3 repeats is
    common practice, no source.

    Examples
    --------
    >>> advice = study_advice(10, 20, inspectors=3, repeats=2)
    >>> print(advice.sentences[0])
    10 parts known to be bad, none ever missed, would show a detection of at least 74 % (one-sided 95 %).
    """
    if min(bad, good, inspectors, repeats) < 1:
        raise ValueError("bad, good, inspectors and repeats must be at least 1")
    low = 1.0 - upper_limit(0, bad, confidence).high
    high = upper_limit(0, good, confidence).high
    level = tr("(one-sided {confidence})", confidence=percent(confidence))
    sentences = [
        tr(
            "{bad} known to be bad, none ever missed, would show a detection of at least {low} {level}.",
            bad=parts_in_words(bad),
            low=percent(low),
            level=level,
        ),
        tr(
            "{good} known to be good, none ever called NOK, would show a false alarm of at "
            "most {high} {level}.",
            good=parts_in_words(good),
            high=percent_at_most(high),
            level=level,
        ),
    ]
    can_be_usable = are_told_apart(
        interval_by_part([1] * bad, confidence), interval_by_part([0] * good, confidence)
    )
    if not can_be_usable:
        sentences.append(
            tr(
                "Even without a mistake this study would not be usable, because it has too few "
                "parts; {least_of_each}.",
                least_of_each=least_of_each(confidence),
            )
        )
    sentences.append(
        tr(
            "A detection of at least 90 % takes {bad_parts_needed} bad parts without a miss, a "
            "false alarm of at most 5 % takes {good_parts_needed} good parts without an alarm "
            "{level}.",
            bad_parts_needed=bad_parts_needed(0.9, confidence),
            good_parts_needed=good_parts_needed(0.05, confidence),
            level=level,
        )
    )
    if repeats == 1:
        sentences.append(
            tr(
                "One repeat does not show whether an inspector judges the same part alike twice: "
                "take 2 or 3."
            )
        )
    if inspectors == 1:
        sentences.append(tr("One inspector does not show whether inspectors agree: take 2 or 3."))
    sentences.append(tr("More inspectors and repeats show agreement; they do not stand in for more parts."))
    return StudyAdvice(
        detection_low=low,
        false_alarm_high=high,
        confidence=confidence,
        readings=(bad + good) * inspectors * repeats,
        can_be_usable=can_be_usable,
        sentences=tuple(sentences),
    )


def least_of_each(confidence: float) -> str:
    """Say how many bad and good parts it takes, in equal numbers, for a study that can be usable."""
    least = next(
        n
        for n in itertools.count(1)
        if are_told_apart(interval_by_part([1] * n, confidence), interval_by_part([0] * n, confidence))
    )
    return tr("with {least} bad and {least} good ones it can be", least=least)
