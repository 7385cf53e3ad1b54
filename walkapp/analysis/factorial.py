"""What a trial with two levels a factor shows: effects, how probable they are by chance, and curvature.

References
----------
G. E. P. Box, W. G. Hunter and J. S. Hunter (1978), Statistics for Experimenters: an effect is the mean of
the runs at high minus that of the runs at low. NIST/SEMATECH e-Handbook of Statistical Methods, 5.3.3.9,
for the comparison of the centre with the corners.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from walkapp.analysis.chance import Chance
from walkapp.analysis.factorial_plan import FALSE_ALARM, Design, Levels, PlannedRun, Term
from walkapp.analysis.homogeneity import DRAWS, EXACT_STEPS, homogeneity_test
from walkapp.analysis.many import holm
from walkapp.analysis.proportions import fisher_exact
from walkapp.analysis.seeded import SeededChance
from walkapp.analysis.split_chance import SplitChance, Splits

ALONE = Fraction(1, 2)
"""One combination stands alone when no other group's mean is nearer than this part of the whole range."""

_LEAST_DRAWS = 999

# no text: a seed, the same in every language
_SEED = "walkapp trial simulation 1"


@dataclass(frozen=True, slots=True, kw_only=True)
class RunResult:
    """What one run gave.

    Parameters
    ----------
    run
        Which run.
    value
        The share of NOK parts, or the measured value, exactly.
    tally
        Parts NOK and parts checked; none when a value was measured.
    """

    run: PlannedRun
    value: Fraction
    tally: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Several runs together.

    Parameters
    ----------
    runs
        How many, at least 1.
    mean
        Mean of their responses; every run counts the same.
    tally
        Parts NOK and parts checked of all of them; none when values were measured.
    """

    runs: int
    mean: Fraction
    tally: tuple[int, int] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Contrast:
    """Some runs against others, and what chance alone would make of it.

    Parameters
    ----------
    high, low
        The two groups of runs.
    chance
        The randomisation probability: if no factor made any difference, of a difference of the means
        of at least this size.
    p_adjusted
        Its p, corrected for all questions that are asked of the trial; at most 1.
    p_parts
        Fisher's exact p with single parts as units; it takes for granted that runs at the same setting
        differ only by chance. None when values were measured.
    p_parts_adjusted
        The same, corrected likewise.
    """

    high: Group
    low: Group
    chance: SplitChance
    p_adjusted: float
    p_parts: float | None
    p_parts_adjusted: float | None

    @property
    def size(self) -> Fraction:
        """Mean of the high group minus mean of the low one."""
        return self.high.mean - self.low.mean

    @property
    def is_shown(self) -> bool:
        """Whether the runs show that it makes a difference."""
        return self.p_adjusted <= FALSE_ALARM

    @property
    def is_shown_by_parts(self) -> bool:
        """Whether single parts would show it, if runs at the same setting differed only by chance."""
        return self.p_parts_adjusted is not None and self.p_parts_adjusted <= FALSE_ALARM


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """The effect of one factor, or of several together.

    Parameters
    ----------
    term
        Which factors, and of which others it cannot be told apart.
    contrast
        The runs in which the product of the levels is high against those in which it is low.
    """

    term: Term
    contrast: Contrast


@dataclass(frozen=True, slots=True, kw_only=True)
class Combination:
    """The runs at one combination of two factors' levels against all other corner runs.

    Parameters
    ----------
    places
        Places of the two factors, from 0.
    levels
        Their levels, -1 or +1 each.
    contrast
        These runs (high) against the others (low). Of all pairs of factors and their four combinations it
        is the one farthest from the rest, and its p is corrected for that choice.
    is_alone
        Whether none of the other three combinations is near it: see ``ALONE``, a rule of our own.
    """

    places: tuple[int, int]
    levels: tuple[int, int]
    contrast: Contrast
    is_alone: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Whether runs at the same setting differ by more than chance from part to part.

    Parameters
    ----------
    tested
        How many settings were run more than once.
    differing
        The settings whose runs differ, after Holm over all settings tested.
    least_p
        The smallest p after Holm, at most 1.
    """

    tested: int
    differing: tuple[Levels, ...]
    least_p: float


@dataclass(frozen=True, kw_only=True)
class TrialResult:
    """What a finished trial shows.

    Parameters
    ----------
    design
        How it was planned.
    results
        All runs, in the order in which they were planned.
    effects
        In the order of the design: single factors first.
    curvature
        Centre runs (high) against corner runs (low); none without centre runs.
    combination
        The combination of two factors that is farthest from all others; none with one factor.
    spread
        Whether runs at the same setting differ; none when no setting was run twice or values were
        measured.
    """

    design: Design
    results: tuple[RunResult, ...]
    effects: tuple[Effect, ...]
    curvature: Contrast | None
    combination: Combination | None
    spread: Spread | None

    @property
    def shown(self) -> tuple[Effect, ...]:
        """The effects that make a difference."""
        return tuple(effect for effect in self.effects if effect.contrast.is_shown)

    @property
    def shown_combination(self) -> Combination | None:
        """The combination of two factors that alone differs from all others, where that is shown."""
        found = self.combination
        return found if found is not None and found.is_alone and found.contrast.is_shown else None

    @property
    def shows_something(self) -> bool:
        """Whether any effect, combination or curvature is shown."""
        curved = self.curvature is not None and self.curvature.is_shown
        return bool(self.shown) or self.shown_combination is not None or curved

    def group(self, is_in: Callable[[Levels], bool]) -> Group | None:
        """Take runs together by their levels; none where there is no such run."""
        return _group(one for one in self.results if is_in(one.run.levels))

    def four_groups(self, first: int, second: int) -> Mapping[tuple[int, int], Group]:
        """Take the corner runs together by the levels of two factors, given by their places from 0."""
        return _four_groups([one for one in self.results if not one.run.is_centre], first, second)


def work_out(design: Design, results: Sequence[RunResult], seed: str) -> TrialResult:
    """Work out the effects of a finished trial.

    Parameters
    ----------
    design
        How it was planned.
    results
        Every run once, in any order.
    seed
        Seed of the trial; only where an exact count would take too long a simulation starts from it.

    Returns
    -------
    TrialResult
        The allowed 5 % of false alarms are for the whole trial. With two factors or more, half of them
        is for the effects and curvature, corrected after Holm, and half for the one combination,
        corrected for all combinations (Bonferroni). The sharing is a rule of our own.

    Raises
    ------
    ValueError
        If the runs are not those of the design.
    """
    ordered = tuple(sorted(results, key=lambda one: one.run.number))
    if [one.run for one in ordered] != list(design.order(seed)):
        raise ValueError("the results must be those of every planned run, each once")
    chance = SeededChance((_SEED, seed))
    corners = [one for one in ordered if not one.run.is_centre]
    splits = Splits([one.value for one in corners], len(corners) // 2, chance)
    contrasts = [
        _contrast(corners, [term.sign(one.run.levels) > 0 for one in corners], splits)
        for term in design.terms
    ]
    if design.centres:
        every = Splits([one.value for one in ordered], design.centres, chance)
        contrasts.append(_contrast(ordered, [one.run.is_centre for one in ordered], every))
    corrected = _corrected(contrasts, design.shares)
    return TrialResult(
        design=design,
        results=ordered,
        effects=tuple(
            Effect(term=term, contrast=contrast)
            # The last contrast may be curvature.
            for term, contrast in zip(design.terms, corrected, strict=False)
        ),
        curvature=corrected[-1] if design.centres else None,
        combination=_farthest_combination(design, corners, chance),
        spread=_spread(ordered, chance),
    )


def _group(results: Iterable[RunResult]) -> Group | None:
    found = list(results)
    if not found:
        return None
    tallies = [one.tally for one in found if one.tally is not None]
    return Group(
        runs=len(found),
        mean=sum((one.value for one in found), Fraction(0)) / len(found),
        tally=(sum(nok for nok, _ in tallies), sum(n for _, n in tallies)) if tallies else None,
    )


def _known(group: Group | None) -> Group:
    if group is None:
        raise ValueError("both groups must have a run")
    return group


def _contrast(results: Sequence[RunResult], is_high: Sequence[bool], splits: Splits) -> Contrast:
    chosen = [place for place, high in enumerate(is_high) if high]
    high = _known(_group(results[place] for place in chosen))
    low = _known(_group(one for one, there in zip(results, is_high, strict=True) if not there))
    chance = splits.chance_of(chosen)
    p_parts = None
    if high.tally is not None and low.tally is not None:
        (bad, of), (bad_low, of_low) = high.tally, low.tally
        p_parts = fisher_exact(bad, of - bad, bad_low, of_low - bad_low)
    return Contrast(
        high=high, low=low, chance=chance, p_adjusted=chance.p, p_parts=p_parts, p_parts_adjusted=p_parts
    )


def _corrected(contrasts: Sequence[Contrast], shares: int) -> list[Contrast]:
    by_runs = holm([one.chance.p for one in contrasts])
    by_parts = holm([one.p_parts if one.p_parts is not None else 1.0 for one in contrasts])
    return [
        replace(
            one,
            p_adjusted=min(1.0, shares * p),
            p_parts_adjusted=None if one.p_parts is None else min(1.0, shares * p_parts),
        )
        for one, p, p_parts in zip(contrasts, by_runs, by_parts, strict=True)
    ]


def _four_groups(corners: Iterable[RunResult], first: int, second: int) -> Mapping[tuple[int, int], Group]:
    by_levels: dict[tuple[int, int], list[RunResult]] = {}
    for one in corners:
        by_levels.setdefault((one.run.levels[first], one.run.levels[second]), []).append(one)
    return {levels: _known(_group(by_levels[levels])) for levels in sorted(by_levels)}


def _farthest_combination(
    design: Design, corners: Sequence[RunResult], chance: Chance
) -> Combination | None:
    if not design.asks_for_combination:
        return None
    pairs = list(itertools.combinations(range(design.factors), 2))
    total = _known(_group(corners)).mean

    def distance(at: tuple[tuple[int, int], tuple[int, int]]) -> Fraction:
        pair, levels = at
        return abs(four[pair][levels].mean - total)

    four = {pair: _four_groups(corners, *pair) for pair in pairs}
    tried = [(pair, levels) for pair in pairs for levels in four[pair]]
    # All combinations have as many runs, so the farthest one has the smallest probability.
    (first, second), levels = max(tried, key=distance)
    is_there = [(one.run.levels[first], one.run.levels[second]) == levels for one in corners]
    splits = Splits([one.value for one in corners], len(corners) // 4, chance)
    contrast = _contrast(corners, is_there, splits)
    times = design.shares * len(tried)
    means = {at: group.mean for at, group in four[first, second].items()}
    nearest = min(abs(means[levels] - mean) for at, mean in means.items() if at != levels)
    whole = max(means.values()) - min(means.values())
    return Combination(
        places=(first, second),
        levels=levels,
        contrast=replace(
            contrast,
            p_adjusted=min(1.0, times * contrast.chance.p),
            p_parts_adjusted=None if contrast.p_parts is None else min(1.0, times * contrast.p_parts),
        ),
        is_alone=whole > 0 and nearest >= ALONE * whole,
    )


def _spread(results: Sequence[RunResult], chance: Chance) -> Spread | None:
    tallies: dict[Levels, list[tuple[int, int]]] = {}
    for one in results:
        if one.tally is not None:
            tallies.setdefault(one.run.levels, []).append(one.tally)
    repeated = {levels: tallies[levels] for levels in sorted(tallies) if len(tallies[levels]) > 1}
    if not repeated:
        return None
    many = len(repeated)
    corrected = holm(
        [
            homogeneity_test(found, chance, EXACT_STEPS // many, max(_LEAST_DRAWS, DRAWS // many)).p
            for found in repeated.values()
        ]
    )
    return Spread(
        tested=many,
        differing=tuple(levels for levels, p in zip(repeated, corrected, strict=True) if p <= FALSE_ALARM),
        least_p=min(corrected),
    )
