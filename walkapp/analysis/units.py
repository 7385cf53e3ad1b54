"""Within a station: does one cavity, fixture, machine or shift differ from the others?

Parts were checked, and each belongs to one unit of a grouping (cavity 2; night shift). For each
grouping two questions are answered, each with an exact test:

* Do the units differ at all? The test of Freeman and Halton (:mod:`walkapp.analysis.homogeneity`).
* Is one unit different from the rest together? Fisher's test for each unit, corrected after Holm
  for looking at many units, and by Bonferroni for looking at many groupings.

Both take the parts of a unit as a random draw of what it makes. A difference says where to look,
not why: units that ran at other times, or with other material, differ for that reason too.

References
----------
S. Holm (1979), "A simple sequentially rejective multiple test procedure", Scandinavian Journal of
Statistics 6, 65-70.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR

from walkapp.analysis.chance import Chance
from walkapp.analysis.homogeneity import (
    DRAWS,
    EXACT_STEPS,
    LEAST_P,
    HomogeneityTest,
    homogeneity_test,
    tallies_by_size,
)
from walkapp.analysis.many import holm
from walkapp.analysis.proportions import fisher_exact, proportion_interval
from walkapp.analysis.results import Interval
from walkapp.analysis.wording import (
    by_grouping,
    named,
    p_in_words,
    parts_in_words,
    percent,
    two_digits,
    unit_label,
)
from walkapp.language import msg, tr, whole_text

WORSE = "worse"
BETTER = "better"
NOT_SHOWN = msg("not shown")

ONE_DIFFERS = msg("one unit differs")
SEVERAL_DIFFER = msg("several units differ")
SOME_DIFFER = msg("units differ, no single one is shown")
NONE_SHOWN = msg("no unit shown to differ")
NOTHING_TO_COMPARE = msg("nothing to compare")

LEVEL = 0.05
"""Greatest chance, after correction, of seeing a difference where there is none."""

MOST_UNITS = 128
"""Units that are compared: no mould has more cavities, and the work grows with their square."""

_TIE = 1e-9
"""Where p differ by less than this, they are equal but for rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitTally:
    """Parts of one unit.

    Parameters
    ----------
    name
        The unit's name as people say it, "2" or "cavity 2"; not empty. Parts whose unit was not
        recorded belong to no unit and are left out.
    checked, nok
        Parts judged, and NOK among them; 0 <= `nok` <= `checked`.
    """

    name: str
    checked: int
    nok: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Grouping:
    """One way of dividing the parts of a station.

    Parameters
    ----------
    name
        What the units are, in the singular: cavity, fixture, machine, shift.
    units
        Each name once, in the order in which they are shown; may be empty.
    """

    name: str
    units: tuple[UnitTally, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitVerdict:
    """What is said of one unit.

    Parameters
    ----------
    name, checked, nok
        As counted; `checked` is at least 1.
    share
        `nok` over `checked`.
    interval
        Exact two-sided interval for the share called NOK.
    p
        Fisher's exact test, two-sided, of this unit against all others together; above 0, at most
        1, and 1 when there is no other unit.
    p_adjusted
        The same after Holm over the units, times the number of groupings looked at, at most 1.
    direction
        ``WORSE`` or ``BETTER`` than all others together when `p_adjusted` is at most the level,
        else ``NOT_SHOWN``. A single bad unit among the others makes a good one "better" than them:
        which units stand out is said by `UnitComparison.worse` and `UnitComparison.better`.
    least_nok
        NOK parts from which this unit would have been shown to be worse for certain, with its own
        number of parts checked and the counts of the others as they are; none when even all of its
        parts NOK would not have been enough.
    """

    name: str
    checked: int
    nok: int
    share: float
    interval: Interval
    p: float
    p_adjusted: float
    direction: str
    least_nok: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitComparison:
    """What is said of one grouping.

    Parameters
    ----------
    grouping
        Its name.
    checked, nok
        Parts of all units together.
    units
        One verdict for each unit with at least one part checked, in the order given.
    never_checked
        Names of the units without a part; they enter no computation.
    test
        Whether the units differ at all; p is 1 when fewer than two were checked.
    p_adjusted
        Its p after Holm over the groupings looked at.
    groupings
        How many groupings with something to compare were looked at together.
    level
        What an adjusted p is held against.
    worse, better
        Units that stand out from those that do not, the clearest first.
    stands_out
        The only unit in `worse` and `better`; none when there are several or none.
    worst
        The unit with the highest share NOK; none when nothing was NOK or several share it.
    worst_nok
        NOK parts of `worst`, of `nok` in all: plain counts; 0 when there is none.
    verdict
        ``ONE_DIFFERS``, ``SEVERAL_DIFFER``, ``SOME_DIFFER``, ``NONE_SHOWN`` or
        ``NOTHING_TO_COMPARE``.
    sentence
        The verdict for people.
    """

    grouping: str
    checked: int
    nok: int
    units: tuple[UnitVerdict, ...]
    never_checked: tuple[str, ...]
    test: HomogeneityTest
    p_adjusted: float
    groupings: int
    level: float
    worse: tuple[str, ...]
    better: tuple[str, ...]
    stands_out: str | None
    worst: str | None
    worst_nok: int
    verdict: str
    sentence: str


def compare_units(
    groupings: Sequence[Grouping],
    *,
    chance: Chance,
    level: float = LEVEL,
    confidence: float = 0.95,
    limit: int = EXACT_STEPS,
    draws: int = DRAWS,
) -> tuple[UnitComparison, ...]:
    """Compare the units of one station, by each grouping that was recorded.

    Parameters
    ----------
    groupings
        All groupings that are looked at for this station, since each further one is a further
        chance of being misled; may be empty. Other stations are other calls and are not corrected for.
    chance
        Asked only where an exact test would take more than `limit`.
    level
        Above 0 and below 1.
    confidence
        Of the intervals, above 0 and below 1; they are not corrected for being many.
    limit
        Work allowed for each exact test (see :func:`freeman_halton`).
    draws
        Random divisions beyond the limit, at least 1; fewer for more than 30 units, 2,343 for 128.

    Returns
    -------
    tuple of UnitComparison
        One for each grouping, in the order given. With no real difference anywhere, the chance that a
        grouping is said to differ as a whole is at most `level`, and so is the chance that any unit
        is said to stand out.

    Raises
    ------
    ValueError
        If an argument is out of range, a unit has no name, or two units of a grouping have the same.

    Notes
    -----
    Which units stand out is found step by step: the unit with the least p against the rest is
    taken out if its p, times the comparisons of that step and the groupings, is at most the
    level; then the others are compared among themselves, and so on. So one bad cavity does not make
    all others "better". Of units that cannot be told apart (two units differ from one another) the
    worse one is named. The single tests are Fisher's; the stepping is common practice for
    outliers, without a source.

    Two units make one comparison and not two. More than :data:`MOST_UNITS` are not compared.

    Examples
    --------
    >>> from random import Random
    >>> counts = {"cavity 1": 1, "cavity 2": 9, "cavity 3": 0, "cavity 4": 2}
    >>> units = tuple(UnitTally(name=name, checked=20, nok=nok) for name, nok in counts.items())
    >>> (said,) = compare_units([Grouping(name="cavity", units=units)], chance=Random(1))
    >>> said.sentence
    'Worse than the rest: cavity 2, 9 of 20 NOK against 3 of 60 (p = 0.0005 after correction).'
    """
    if not 0.0 < level < 1.0:
        raise ValueError(f"level must be above 0 and below 1, not {level!r}")
    for grouping in groupings:
        _check_units(grouping.units)
    tests = [
        homogeneity_test(_tallies(_checked(grouping.units)), chance, limit, draws, confidence)
        for grouping in groupings
    ]
    compared = [index for index, grouping in enumerate(groupings) if len(_checked(grouping.units)) > 1]
    adjusted = [1.0] * len(groupings)
    for index, p in zip(compared, holm([tests[index].p for index in compared]), strict=True):
        adjusted[index] = p
    return tuple(
        _compare(grouping, test, p_adjusted, len(compared), level, confidence)
        for grouping, test, p_adjusted in zip(groupings, tests, adjusted, strict=True)
    )


def _check_units(units: Sequence[UnitTally]) -> None:
    names = [unit.name for unit in units]
    if not all(names) or len(set(names)) < len(names):
        raise ValueError(f"units must have names, each its own, not {names!r}")
    tallies_by_size(_tallies(units))


def _tallies(units: Sequence[UnitTally]) -> list[tuple[int, int]]:
    return [(unit.nok, unit.checked) for unit in units]


def _checked(units: Sequence[UnitTally]) -> list[UnitTally]:
    """The units to compare: none when there are too many of them."""
    found = [unit for unit in units if unit.checked]
    return found if len(found) <= MOST_UNITS else []


def _compare(
    grouping: Grouping,
    test: HomogeneityTest,
    p_adjusted: float,
    groupings: int,
    level: float,
    confidence: float,
) -> UnitComparison:
    checked = _checked(grouping.units)
    verdicts = tuple(_verdicts(checked, groupings, level, confidence))
    worse, better = _standing_out(checked, groupings, level)
    out = worse + better
    if len(checked) < 2:
        verdict = NOTHING_TO_COMPARE
    elif out:
        verdict = ONE_DIFFERS if len(out) == 1 else SEVERAL_DIFFER
    else:
        verdict = SOME_DIFFER if _at_most(p_adjusted, level) else NONE_SHOWN
    highest = max((unit.share for unit in verdicts), default=0.0)
    worst = [unit for unit in verdicts if unit.share == highest > 0.0]
    comparison = UnitComparison(
        grouping=grouping.name,
        checked=sum(unit.checked for unit in checked),
        nok=sum(unit.nok for unit in checked),
        units=verdicts,
        never_checked=tuple(unit.name for unit in grouping.units if not unit.checked),
        test=test,
        p_adjusted=p_adjusted,
        groupings=groupings,
        level=level,
        worse=worse,
        better=better,
        stands_out=out[0] if len(out) == 1 else None,
        worst=worst[0].name if len(worst) == 1 else None,
        worst_nok=worst[0].nok if len(worst) == 1 else 0,
        verdict=verdict,
        sentence="",
    )
    units = sum(unit.checked > 0 for unit in grouping.units)
    if units > MOST_UNITS:
        text = tr(
            "{units} are told apart by {grouping}, more than the {most_units} that are compared.",
            units=units,
            grouping=grouping.name,
            most_units=MOST_UNITS,
        )
        return replace(comparison, sentence=text)
    return replace(comparison, sentence=_sentence(comparison))


def _comparisons(units: int, groupings: int) -> int:
    """How many tests against the rest are made, at least 1: of two units each is the other's rest."""
    return max(1, groupings * (units if units > 2 else 1))


def _at_most(p: float, level: float) -> bool:
    return p <= level * (1.0 + _TIE)


def _against_rest(nok: int, checked: int, all_nok: int, all_checked: int) -> tuple[float, bool]:
    """Give p of one unit against the others of all, and whether its share is above theirs."""
    others, others_nok = all_checked - checked, all_nok - nok
    p = max(LEAST_P, fisher_exact(nok, checked - nok, others_nok, others - others_nok))
    return p, nok * others > others_nok * checked


def _all_against_rest(units: Sequence[UnitTally]) -> list[tuple[float, bool]]:
    """Give :func:`_against_rest` for each unit; units with the same counts share it."""
    nok, checked = sum(unit.nok for unit in units), sum(unit.checked for unit in units)
    tallies = _tallies(units)
    known = {tally: _against_rest(*tally, nok, checked) for tally in set(tallies)}
    return [known[tally] for tally in tallies]


def _verdicts(
    units: Sequence[UnitTally], groupings: int, level: float, confidence: float
) -> Iterator[UnitVerdict]:
    tests = _all_against_rest(units)
    ps = [p for p, _ in tests]
    adjusted = holm(ps) if len(units) > 2 else ps
    nok, checked = sum(unit.nok for unit in units), sum(unit.checked for unit in units)
    bound = level / _comparisons(len(units), groupings)
    known: dict[tuple[int, int], tuple[Interval, int | None]] = {}
    for unit, (p, is_worse), of_units in zip(units, tests, adjusted, strict=True):
        tally = (unit.nok, unit.checked)
        if tally not in known:
            least_nok = _least_nok(unit.checked, nok - unit.nok, checked - unit.checked, bound)
            known[tally] = proportion_interval(*tally, confidence), least_nok
        p_adjusted = min(1.0, max(1, groupings) * of_units)
        shown = WORSE if is_worse else BETTER
        yield UnitVerdict(
            name=unit.name,
            checked=unit.checked,
            nok=unit.nok,
            share=unit.nok / unit.checked,
            interval=known[tally][0],
            p=p,
            p_adjusted=p_adjusted,
            direction=shown if _at_most(p_adjusted, level) else NOT_SHOWN,
            least_nok=known[tally][1],
        )


def _least_nok(checked: int, others_nok: int, others: int, bound: float) -> int | None:
    """Fewest NOK of `checked` parts that are worse than the others with a p of at most `bound`."""

    def is_enough(nok: int) -> bool:
        p, _ = _against_rest(nok, checked, others_nok + nok, others + checked)
        return _at_most(p, bound)

    if not others:
        return None
    # Above the share of the others p falls from count to count (no exception in a search over
    # 8,000 tables), so that the counts can be halved.
    counts = range(others_nok * checked // others + 1, checked + 1)
    found = bisect_left(counts, True, key=is_enough)
    return counts[found] if found < len(counts) else None


def _standing_out(
    units: Sequence[UnitTally], groupings: int, level: float
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Name the units that are worse and those that are better, each time compared with those left."""
    worse: list[str] = []
    better: list[str] = []
    left = list(units)
    while len(left) > 1:
        tests = _all_against_rest(left)
        bound = level / _comparisons(len(left), groupings)
        least = min(p for p, _ in tests)
        if not _at_most(least, bound):
            break
        # Of equally clear units the worse goes first; units with the same counts go together.
        clearest = max(
            (is_worse, unit.nok / unit.checked, unit.checked)
            for unit, (p, is_worse) in zip(left, tests, strict=True)
            if _at_most(p, least)
        )
        is_worse, share, checked = clearest
        taken = [unit for unit in left if (unit.nok / unit.checked, unit.checked) == (share, checked)]
        (worse if is_worse else better).extend(unit.name for unit in taken)
        left = [unit for unit in left if unit not in taken]
    return tuple(worse), tuple(better)


def _sentence(said: UnitComparison) -> str:
    told = _told(said)
    if not said.never_checked:
        return told
    names = named([unit_label(said.grouping, name) for name in said.never_checked])
    return " ".join((told, tr("Not checked: {names}.", names=names)))


def _told(said: UnitComparison) -> str:
    by = by_grouping(said.grouping)
    if said.verdict == NOTHING_TO_COMPARE:
        if not said.units:
            return tr("Nothing to compare {by_grouping}: none was checked.", by_grouping=by)
        return tr(
            "Nothing to compare {by_grouping}: only {unit} was checked.",
            by_grouping=by,
            unit=unit_label(said.grouping, said.units[0].name),
        )
    if said.verdict == ONE_DIFFERS:
        return _one_differs(said)
    if said.verdict == SEVERAL_DIFFER:
        return _several_differ(said)
    if said.verdict == SOME_DIFFER:
        return tr(
            "Taken together the counts {by_grouping} differ ({test}), but no single one is "
            "shown to differ from the rest.",
            by_grouping=by,
            test=_test_in_words(said),
        )
    return _none_shown(said)


def _one_differs(said: UnitComparison) -> str:
    (unit,) = (unit for unit in said.units if unit.name == said.stands_out)
    values = {
        "unit": unit_label(said.grouping, unit.name),
        "nok": unit.nok,
        "checked": whole_text(unit.checked),
        "other_nok": said.nok - unit.nok,
        "other_checked": said.checked - unit.checked,
        "p": _p_in_words(unit.p_adjusted, _comparisons(len(said.units), said.groupings)),
    }
    if said.worse:
        return tr(
            "Worse than the rest: {unit}, {nok} of {checked} NOK against {other_nok} of {other_checked} "
            "({p}).",
            **values,
        )
    return tr(
        "Better than the rest: {unit}, {nok} of {checked} NOK against {other_nok} of {other_checked} "
        "({p}).",
        **values,
    )


def _several_differ(said: UnitComparison) -> str:
    counts = {
        unit.name: tr("{nok} of {checked}", nok=unit.nok, checked=unit.checked) for unit in said.units
    }
    worse, better = (
        named([f"{unit_label(said.grouping, name)} ({counts[name]})" for name in names]) if names else ""
        for names in (said.worse, said.better)
    )
    if not better:
        return tr("Worse than the others: {worse}.", worse=worse)
    if not worse:
        return tr("Better than the others: {better}.", better=better)
    return tr("Worse than the others: {worse}; better: {better}.", worse=worse, better=better)


def _none_shown(said: UnitComparison) -> str:
    """Say that nothing is shown, and what could have been seen of the unit with the highest share."""
    unit = max(said.units, key=lambda unit: unit.share)
    values = {
        "by_grouping": by_grouping(said.grouping),
        "test": _test_in_words(said),
        "unit": tr(
            "{label} ({nok} of {checked} NOK)",
            label=unit_label(said.grouping, unit.name),
            nok=unit.nok,
            checked=parts_in_words(unit.checked),
        ),
    }
    if unit.least_nok is None:
        return tr(
            "No difference {by_grouping} is shown ({test}); with these counts {unit} could not have been "
            "shown to be worse.",
            **values,
        )
    return tr(
        "No difference {by_grouping} is shown ({test}); with these counts {unit} would have been shown to "
        "be worse from {least_nok} NOK on.",
        least_nok=unit.least_nok,
        **values,
    )


def _test_in_words(said: UnitComparison) -> str:
    words = _p_in_words(said.p_adjusted, said.groupings)
    error = said.test.error
    if error is None:
        return words
    low, high = two_digits(error.low, ROUND_FLOOR), two_digits(error.high, ROUND_CEILING)
    values = {
        "words": words,
        "draws": whole_text(said.test.draws),
        "low": low,
        "high": high,
        "confidence": percent(error.confidence),
    }
    if said.groupings > 1:
        return tr(
            "{words}; estimated from {draws} random divisions, before correction between {low} and {high} "
            "with {confidence} confidence",
            **values,
        )
    return tr(
        "{words}; estimated from {draws} random divisions between {low} and {high} "
        "with {confidence} confidence",
        **values,
    )


def _p_in_words(p: float, comparisons: int) -> str:
    words = p_in_words(p)
    return tr("{p} after correction", p=words) if comparisons > 1 else words
