"""Planning a trial with two levels a factor: which runs, in which order, and what cannot be told apart.

References
----------
NIST/SEMATECH e-Handbook of Statistical Methods, 5.3.3.3 (two-level full factorial designs) and 5.3.3.4
(fractional factorial designs). That the runs are made in a random order: 5.3.3.3.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import cached_property

from walkapp.analysis.seeded import in_seeded_order
from walkapp.analysis.wording import either, named
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.records.trials import MOST_FACTORS, MOST_RUNS

LETTERS = "ABCDE"[:MOST_FACTORS]
"""Letters of the factors, in their order."""

CENTRE = 0
"""The level half-way between low (-1) and high (+1)."""

FALSE_ALARM = 0.05
"""How often, at most, a trial in which nothing makes a difference may say that something does."""

# no text: a seed, the same in every language
_ORDER = "walkapp trial order 1"
"""Kept apart from every other use of the same seed; a new number would be a new order."""

Levels = tuple[int, ...]
"""One level for each factor: -1 low, 0 centre, +1 high."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRun:
    """One run of a trial.

    Parameters
    ----------
    number
        Its place in the random order, from 1.
    levels
        What to set.
    """

    number: int
    levels: Levels

    @property
    def is_centre(self) -> bool:
        """Whether it is a run at the centre point."""
        return not any(self.levels)


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """An effect that a trial can show: of one factor, or of several together.

    Parameters
    ----------
    letters
        Its factors, for example ``AB``; of those that cannot be told apart the one with fewest letters.
    aliases
        The others of which it cannot be told apart, with fewest letters first; none in a full trial.
    """

    letters: str
    aliases: tuple[str, ...] = ()

    @property
    def places(self) -> tuple[int, ...]:
        """Places of its factors, from 0."""
        return tuple(LETTERS.index(letter) for letter in self.letters)

    def sign(self, levels: Levels) -> int:
        """Give +1 for the runs of the high half and -1 for those of the low half."""
        return math.prod(levels[place] for place in self.places)


@dataclass(frozen=True)
class Design:
    """A trial with 1 to 5 factors.

    Parameters
    ----------
    factors
        How many, 1 to 5.
    is_half
        Whether half of the combinations are run: with 4 factors those with D = ABC, with 5 those with
        E = ABCD.
    replicates
        How often each combination is run, at least 1.
    centres
        Runs at the centre point, 0 or more.

    Raises
    ------
    InputError
        If there is no such trial.

    Examples
    --------
    >>> design = Design(4, is_half=True)
    >>> design.runs, design.alias_words[-3:]
    (8, ('AB cannot be told from CD', 'AC cannot be told from BD', 'AD cannot be told from BC'))
    """

    factors: int
    is_half: bool = False
    replicates: int = 1
    centres: int = 0

    def __post_init__(self) -> None:
        if not 1 <= self.factors <= len(LETTERS):
            raise InputError(
                tr(
                    "Factors: a trial has 1 to {letters} of them, not {factors}; ",
                    letters=len(LETTERS),
                    factors=self.factors,
                )
                + (
                    tr("name what is changed.")
                    if self.factors < 1
                    else tr("leave out the least suspect ones.")
                )
            )
        if self.is_half and self.factors < 4:
            raise InputError(
                tr(
                    "Half of the combinations: only for 4 or 5 factors, not for {factors}; run "
                    "all of them.",
                    factors=self.factors,
                )
            )
        if self.replicates < 1 or self.centres < 0:
            raise InputError(tr("Replicates: each combination is run at least once; choose 1 or more."))
        if self.runs > MOST_RUNS:
            raise InputError(
                tr(
                    "Runs: this would be {runs} of them, and at most {most_runs} are planned; "
                    "take fewer replicates or factors.",
                    runs=self.runs,
                    most_runs=MOST_RUNS,
                )
            )

    @property
    def runs(self) -> int:
        """How many runs in all."""
        return len(self.corners) * self.replicates + self.centres

    @cached_property
    def corners(self) -> tuple[Levels, ...]:
        """The combinations of levels in standard order: A changes fastest."""
        free = self.factors - self.is_half
        combinations = (levels[::-1] for levels in itertools.product((-1, 1), repeat=free))
        if not self.is_half:
            return tuple(combinations)
        return tuple((*levels, math.prod(levels)) for levels in combinations)

    @cached_property
    def terms(self) -> tuple[Term, ...]:
        """The effects that can be shown, factors first; not those that every run has alike."""
        letters = LETTERS[: self.factors]
        words = [
            "".join(chosen)
            for size in range(1, self.factors + 1)
            for chosen in itertools.combinations(letters, size)
        ]
        if not self.is_half:
            return tuple(Term(letters=word) for word in words)
        found = []
        for word in words:
            others = self._others(word)
            if others and (len(word), word) < (len(others), others):
                found.append(Term(letters=word, aliases=(others,)))
        return tuple(found)

    def aliases_of(self, term: Term) -> tuple[str, ...]:
        """Give the effects of which one cannot be told apart; none in a full trial."""
        return (self._others(term.letters),) if self.is_half else ()

    def _others(self, word: str) -> str:
        """In every run of the half the product of all levels is +1, so a word is as good as the rest."""
        return "".join(letter for letter in LETTERS[: self.factors] if letter not in word)

    @property
    def alias_words(self) -> tuple[str, ...]:
        """What cannot be told apart, one sentence part for each effect; none in a full trial."""
        return tuple(
            tr(
                "{letters} cannot be told from {aliases}",
                letters=term.letters,
                aliases=either(term.aliases),
            )
            for term in self.terms
            if term.aliases
        )

    @property
    def alias_summary(self) -> str:
        """The same in one sentence, for a person who decides; empty in a full trial."""
        if not self.is_half:
            return ""
        pairs = [term for term in self.terms if len(term.letters) == 2]
        if self.factors == 4:
            said = named(
                [
                    tr(
                        "{letters} cannot be told from {aliases}",
                        letters=term.letters,
                        aliases=term.aliases[0],
                    )
                    for term in pairs
                ]
            )
            return tr("{said}; nor a single factor from the other three together.", said=said)
        first = pairs[0]
        return tr(
            "Two factors together cannot be told from the other three together, as {letters} "
            "from {aliases}; nor a single factor from the other four together.",
            letters=first.letters,
            aliases=first.aliases[0],
        )

    def order(self, seed: str) -> tuple[PlannedRun, ...]:
        """Give all runs in the random order that follows from a seed, centre runs among them.

        Parameters
        ----------
        seed
            Any text; the same one gives the same order on every tablet.

        Returns
        -------
        tuple of PlannedRun
            Every order of the runs is equally probable, apart from what a seed is.
        """
        by_label = {
            f"{place} {again}": levels
            for place, levels in enumerate(self.corners)
            for again in range(self.replicates)
        }
        by_label |= {
            # no text: it decides the order with the seed
            f"centre {again}": (CENTRE,) * self.factors
            for again in range(self.centres)
        }
        labels = in_seeded_order(list(by_label), (_ORDER, seed))
        return tuple(
            PlannedRun(number=number, levels=by_label[label])
            for number, label in enumerate(labels, start=1)
        )

    @property
    def questions(self) -> int:
        """How many effects are tested: those of the factors, and curvature when there are centre runs."""
        return len(self.terms) + bool(self.centres)

    @property
    def asks_for_combination(self) -> bool:
        """Whether one combination of levels is tested against all others, which needs two factors."""
        return self.factors > 1

    @property
    def least_p(self) -> float:
        """The smallest probability, corrected for all questions, that any effect of a factor can get."""
        half = len(self.corners) * self.replicates // 2
        return min(1.0, self.shares * self.questions * 2 / math.comb(2 * half, half))

    @property
    def shares(self) -> int:
        """In how many parts the allowed false alarms are shared: effects, and one combination."""
        return 2 if self.asks_for_combination else 1

    @property
    def can_show(self) -> bool:
        """Whether the runs alone can prove the effect of a factor."""
        return self.least_p <= FALSE_ALARM

    @property
    def least_replicates(self) -> int:
        """The fewest replicates with which the runs alone can prove the effect of a factor."""
        return next(
            again
            for again in itertools.count(1)
            if Design(self.factors, self.is_half, again, self.centres).can_show
        )
