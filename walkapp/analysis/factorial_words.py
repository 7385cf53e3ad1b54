"""What a trial shows, in words: never more than its runs can carry."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING
from fractions import Fraction

from walkapp.analysis.factorial import Combination, Contrast, Effect, Group, TrialResult
from walkapp.analysis.factorial_plan import Design, Levels, Term
from walkapp.analysis.homogeneity import EXACT
from walkapp.analysis.wording import counts_text, either, named, p_in_words, rounded, two_digits
from walkapp.language import decimal_text, msg, tr, trn, whole_text

SHOWN, NOT_SHOWN = msg("makes a difference"), msg("not shown")
"""The two verdicts; that something makes no difference is never shown by a trial."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorName:
    """A factor as people call it.

    Parameters
    ----------
    name
        What is changed.
    low, high, centre
        Its levels; the centre may be empty.
    """

    name: str
    low: str
    high: str
    centre: str = ""

    def level(self, sign: int) -> str:
        """Name the level for -1, 0 or +1."""
        return {-1: self.low, 0: self.centre or tr("centre"), 1: self.high}[sign]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialNames:
    """How a trial's factors and its response are called.

    Parameters
    ----------
    factors
        In their order.
    unit
        Unit of the measured value, or empty.
    decimals
        With how many decimals means of measured values are written.
    """

    factors: tuple[FactorName, ...]
    unit: str = ""
    decimals: int = 2

    def setting(self, levels: Levels) -> str:
        """Say what to set for a run.

        Examples
        --------
        >>> pads = FactorName(name="Clamp pads", low="old", high="hard")
        >>> parts = FactorName(name="Parts", low="cold", high="warm")
        >>> TrialNames(factors=(pads, parts)).setting((1, -1))
        'Clamp pads: hard; Parts: cold'
        """
        return "; ".join(
            f"{factor.name}: {factor.level(sign)}"
            for factor, sign in zip(self.factors, levels, strict=True)
        )

    def term(self, term: Term) -> str:
        """Name an effect by its factors, joined by a cross when it is of several together."""
        return " × ".join(self.factors[place].name for place in term.places)

    def group(self, group: Group) -> str:
        """Say what a group of runs gave."""
        if group.tally is not None:
            return counts_text(*group.tally)
        return tr("mean {value}", value=self.value(group.mean))

    def value(self, value: Fraction, sign: str = "") -> str:
        """Write a mean, or the difference of two, with its unit."""
        text = rounded(float(value), self.decimals)
        return f"{sign if value > 0 else ''}{text}{f' {self.unit}' if self.unit else ''}"

    def size(self, contrast: Contrast) -> str:
        """Write how large a difference is, with its sign."""
        if contrast.high.tally is None:
            return self.value(contrast.size, "+")
        sign = "+" if contrast.size > 0 else ""
        return tr("{sign}{size} percentage points", sign=sign, size=rounded(float(contrast.size * 100), 1))


def verdict(contrast: Contrast) -> str:
    """Say whether it is shown to make a difference."""
    return tr(SHOWN) if contrast.is_shown else tr(NOT_SHOWN)


def chance_text(contrast: Contrast) -> str:
    """Say the randomisation probability, as it is and corrected for all questions.

    The corrected one is what the verdict is made from.
    """
    about = (
        ""
        if contrast.chance.method == EXACT
        else tr(", from {draws} random splits", draws=whole_text(contrast.chance.draws))
    )
    return (
        tr(
            "by runs {p}, corrected {p2}{about}",
            p=p_in_words(contrast.chance.p),
            p2=_p(contrast.p_adjusted),
            about=about,
        )
        if contrast.p_adjusted > contrast.chance.p
        else tr("by runs {p}{about}", p=p_in_words(contrast.chance.p), about=about)
    )


def parts_text(contrast: Contrast) -> str:
    """Say the probability with single parts as units, corrected; empty when values were measured."""
    if contrast.p_parts_adjusted is None:
        return ""
    return tr(
        "by single parts, corrected {p_parts_adjusted}",
        p_parts_adjusted=p_in_words(contrast.p_parts_adjusted),
    )


def trial_sentence(result: TrialResult, names: TrialNames) -> str:
    """Say what a finished trial shows, in one or two sentences."""
    combination = result.shown_combination
    if combination is not None:
        return tr(
            "{combination} This combination makes a difference.",
            combination=_combination_text(combination, names),
        )
    if result.shown:
        parts = [_effect_text(result, effect, names) for effect in result.shown]
        return trn(
            "Makes a difference: {parts}.",
            "Make a difference: {parts}.",
            len(parts),
            parts="; ".join(parts),
        )
    if result.curvature is not None and result.curvature.is_shown:
        return _curvature_text(result.curvature, names)
    if not result.design.can_show:
        return tr("No difference is shown. {cannot_prove}", cannot_prove=cannot_prove(result.design))
    return tr("No difference is shown. That is no proof that there is none: a smaller one may be there.")


def trial_remarks(result: TrialResult, names: TrialNames) -> tuple[str, ...]:
    """Say what else has to be known of a finished trial, the most important first."""
    return tuple(_remarks(result, names))


def cannot_prove(design: Design) -> str:
    """Say that so few runs prove nothing, and how many would; empty when they are enough."""
    if design.can_show:
        return ""
    enough = design.least_replicates
    more = Design(design.factors, design.is_half, enough, design.centres).runs
    return tr(
        "These {runs} runs alone cannot prove that a factor makes a difference, however they "
        "come out; with {enough} replicates of each combination ({more} runs) they could.",
        runs=design.runs,
        enough=enough,
        more=more,
    )


def taken_for_granted(design: Design, is_counted: bool) -> tuple[str, ...]:
    """Say what the probabilities are and what they take for granted."""
    said = [
        tr(
            "By runs: if no factor made any difference, the chance that a random order of "
            "the same responses gives a difference of at least this size."
        )
    ]
    if is_counted:
        said.append(
            tr(
                "By single parts: Fisher's exact test. It takes for granted that runs at the "
                "same setting differ only by chance; no verdict is made from it."
            )
        )
    if design.questions > 1 or design.asks_for_combination:
        said.append(
            trn(
                "Corrected for {count} effect (Holm); half of the 5 % of false alarms is for it, half for "
                "one combination of two factors against all others.",
                "Corrected for {count} effects (Holm); half of the 5 % of false alarms is for them, half "
                "for one combination of two factors against all others.",
                design.questions,
            )
            if design.asks_for_combination
            else trn(
                "Corrected for {count} effect (Holm).",
                "Corrected for {count} effects (Holm).",
                design.questions,
            )
        )
    said.append(
        tr(
            "The verdict needs a corrected probability by runs of at most 5 %, and runs that "
            "were made in the random order."
        )
    )
    return tuple(said)


def _p(p: float) -> str:
    return decimal_text("<0.0001") if p < 0.0001 else two_digits(p, ROUND_CEILING)


def both_text(combination: Combination, names: TrialNames) -> str:
    """Name the two levels of a combination."""
    return named(
        [
            f"{names.factors[place].name} {names.factors[place].level(sign)}"
            for place, sign in zip(combination.places, combination.levels, strict=True)
        ]
    )


def _combination_text(combination: Combination, names: TrialNames) -> str:
    contrast = combination.contrast
    return tr(
        "{both} together: {group}; else {group2} ({p_adjusted}).",
        both=both_text(combination, names),
        group=names.group(contrast.high),
        group2=names.group(contrast.low),
        p_adjusted=p_in_words(contrast.p_adjusted),
    )


def _effect_text(result: TrialResult, effect: Effect, names: TrialNames) -> str:
    contrast, places = effect.contrast, effect.term.places
    p = p_in_words(contrast.p_adjusted)
    if len(places) == 1:
        factor = names.factors[places[0]]
        return tr(
            "{factor} ({high} {high_group}, {low} {low_group}; {p})",
            factor=factor.name,
            high=factor.high,
            high_group=names.group(contrast.high),
            low=factor.low,
            low_group=names.group(contrast.low),
            p=p,
        )
    together = tr("{term} together", term=names.term(effect.term))
    if len(places) == 2:
        return f"{together} ({'; '.join(four_texts(result, places, names))}; {p})"
    return f"{together} ({names.size(contrast)}; {p})"


def four_texts(result: TrialResult, places: Sequence[int], names: TrialNames) -> tuple[str, ...]:
    """Say what each combination of two factors' levels gave, both high first."""
    first, second = (names.factors[place] for place in places)
    groups = result.four_groups(places[0], places[1])
    return tuple(
        tr(
            "{level} and {level2}: {group}",
            level=first.level(a),
            level2=second.level(b),
            group=names.group(groups[a, b]),
        )
        for a, b in sorted(groups, reverse=True)
    )


def _curvature_text(curvature: Contrast, names: TrialNames) -> str:
    return tr(
        "The centre lies off the line between low and high: centre {group}, corners {group2} "
        "({p_adjusted}).",
        group=names.group(curvature.high),
        group2=names.group(curvature.low),
        p_adjusted=p_in_words(curvature.p_adjusted),
    )


def _remarks(result: TrialResult, names: TrialNames) -> Iterator[str]:
    if result.shown_combination is not None and result.shown:
        parts = [_effect_text(result, effect, names) for effect in result.shown]
        yield tr("Shown one by one as well: {parts}.", parts="; ".join(parts))
    if not result.design.can_show and result.shows_something:
        yield cannot_prove(result.design)
    if (found := _shown_by_parts_only(result, names)) is not None:
        yield found
    spread = result.spread
    if spread is not None and spread.differing:
        settings = "; ".join(f"({names.setting(levels)})" for levels in spread.differing)
        yield (
            tr(
                "Runs at the same setting differ by more than chance ({least_p}): {settings}. "
                "Something else changes from run to run; do not go by single parts.",
                least_p=p_in_words(spread.least_p),
                settings=settings,
            )
        )
    if (
        result.curvature is not None
        and result.curvature.is_shown
        and (result.shown or result.shown_combination is not None)
    ):
        yield _curvature_text(result.curvature, names)
    if aliases := _aliases_of_shown(result, names):
        yield tr("Half of the combinations were run: {aliases}.", aliases="; ".join(aliases))


def _aliases_of_shown(result: TrialResult, names: TrialNames) -> list[str]:
    """Say of which others what is shown cannot be told apart; nothing for a full trial."""
    terms = [effect.term for effect in result.shown]
    if (combination := result.shown_combination) is not None:
        pair = combination.places
        terms += [
            term
            for effect in result.effects
            for term in (effect.term, *(Term(letters=word) for word in effect.term.aliases))
            if term.places == pair and effect.term not in terms
        ]
    return [
        tr(
            "{term} cannot be told from {others}",
            term=names.term(term),
            others=either([names.term(Term(letters=word)) for word in result.design.aliases_of(term)]),
        )
        for term in terms
        if result.design.aliases_of(term)
    ]


def _shown_by_parts_only(result: TrialResult, names: TrialNames) -> str | None:
    """Say what single parts point to where the runs do not; nothing where equal runs differ."""
    if result.shown_combination is not None or (result.spread is not None and result.spread.differing):
        return None
    combination = result.combination
    said = []
    if combination is not None and combination.is_alone and combination.contrast.is_shown_by_parts:
        contrast = combination.contrast
        both = both_text(combination, names)
        said = [
            tr(
                "{both} together ({group}, else {group2})",
                both=both,
                group=names.group(contrast.high),
                group2=names.group(contrast.low),
            )
        ]
    if not said:
        said = [
            tr("{term} together", term=names.term(effect.term))
            if len(effect.term.places) > 1
            else names.term(effect.term)
            for effect in result.effects
            if effect.contrast.is_shown_by_parts and not effect.contrast.is_shown
        ]
    if not said:
        return None
    tested = (
        tr("runs at the same setting are not shown to differ")
        if result.spread is not None
        else tr("no setting was run twice to see that")
    )
    return tr(
        "Single parts point to {said}, if runs at the same setting differ only by chance "
        "({tested}). Repeat the runs, or switch it on and off, to prove it.",
        said=named(said),
        tested=tested,
    )
