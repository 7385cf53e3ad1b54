"""What the signals of a control chart are called, and what they suggest: never a verdict."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from walkapp.analysis.control.individuals import IndividualsChart
from walkapp.analysis.control.p_chart import EXACT, FEWEST_LOTS, NO_LIMITS, ProportionChart
from walkapp.analysis.control.rules import (
    ALTERNATING,
    APART,
    CLOSE,
    FIRM_POINTS,
    FOUR_OF_FIVE,
    ONE_SIDE,
    OUTSIDE,
    TREND,
    TWO_OF_THREE,
    Signal,
)
from walkapp.analysis.proportions import upper_limit
from walkapp.analysis.wording import named, p_in_words, percent_at_most

RULE_NAMES = {
    OUTSIDE: "outside the limits",
    TWO_OF_THREE: "2 of 3 beyond 2 sigma",
    FOUR_OF_FIVE: "4 of 5 beyond 1 sigma",
    ONE_SIDE: "8 or more on one side",
    TREND: "6 or more rising or falling",
    ALTERNATING: "14 or more up and down in turn",
    CLOSE: "15 or more within 1 sigma",
    APART: "8 or more beyond 1 sigma, on both sides",
}
"""Each rule in a few words, by its number."""

_SUGGESTS = {
    OUTSIDE: "something was different then",
    TWO_OF_THREE: "the level may have moved",
    FOUR_OF_FIVE: "the level may have moved",
    ONE_SIDE: "something changed at about the first of them",
    TREND: "something may wear, warm up, fill or empty",
    ALTERNATING: "two sources may take turns, such as cavities, fixtures, shifts or gauges",
    CLOSE: "several sources may lie in one chart, or the spread became smaller",
    APART: "two sources may lie in one chart; draw one for each",
}

MOST_TOLD = 4
"""Sentences about the signals of one chart."""

GO_AND_SEE = "A signal is a reason to go and see, no proof."


def signal_sentences(
    signals: Sequence[Signal], labels: Sequence[str], what: str, most: int = MOST_TOLD
) -> tuple[str, ...]:
    """Tell signals, a sentence each.

    Parameters
    ----------
    signals
        In any order; those that begin first are told first, and a point outside the limits before others.
    labels
        What each point is called: a lot, a day, a week.
    what
        What a point is called in general, such as "lot".
    most
        How many sentences there may be, at least 1.

    Returns
    -------
    tuple of str
        Empty without signals. Signals of one rule on one side are one sentence, about the first of them;
        one more says how many are left out.

    Examples
    --------
    >>> signal_sentences([Signal(rule=1, side=1, points=(1,))], ["L1", "L2"], "lot")
    ('Rule 1, outside the limits, above: L2 (lot 2 of 2). Something was different then.',)
    """
    alike: dict[tuple[int, int], list[Signal]] = {}
    for one in sorted(signals, key=lambda one: (one.rule != OUTSIDE, one.points[0], one.rule)):
        alike.setdefault((one.rule, one.side), []).append(one)
    said = [
        f"Rule {first.rule}, {RULE_NAMES[first.rule]}{_side(first)}: {_where(first, labels, what)}"
        f"{_again(others, what)}. {_SUGGESTS[first.rule].capitalize()}."
        for first, *others in list(alike.values())[:most]
    ]
    if more := sum(len(same) for same in list(alike.values())[most:]):
        said.append(f"And {more} more signal{'' if more == 1 else 's'} by other rules.")
    return tuple(said)


def _again(others: Sequence[Signal], what: str) -> str:
    """Say how often the same came again, and when last."""
    if not others:
        return ""
    return f", and {len(others)} more up to {what} {others[-1].points[-1] + 1}"


def rules_in_words(signals: Sequence[Signal]) -> str:
    """Name the rules that found something.

    Examples
    --------
    >>> rules_in_words([Signal(rule=4, side=1, points=(1,)), Signal(rule=1, side=1, points=(1,))])
    'signals by rules 1 and 4'
    >>> rules_in_words([]), rules_in_words([Signal(rule=4, side=1, points=(1,))])
    ('no signal', 'signal by rule 4')
    """
    rules = [str(rule) for rule in sorted({one.rule for one in signals})]
    if not rules:
        return "no signal"
    if len(rules) == 1:
        return f"signal{'' if len(signals) == 1 else 's'} by rule {rules[0]}"
    return f"signals by rules {named(rules)}"


def _side(signal: Signal) -> str:
    if signal.rule == TREND:
        return ", rising" if signal.side > 0 else ", falling"
    return {1: ", above", -1: ", below"}.get(signal.side, "")


def _where(signal: Signal, labels: Sequence[str], what: str) -> str:
    first, last, many = signal.points[0], signal.points[-1], len(labels)
    if first == last:
        return f"{labels[first]} ({what} {first + 1} of {many})"
    counted = f"{what} {first + 1} to {last + 1} of {many}"
    if labels[first] == labels[last]:
        return f"{labels[first]} ({counted})"
    return f"{labels[first]} to {labels[last]} ({counted})"


def proportion_notes(chart: ProportionChart, what: str, things: str = "parts") -> tuple[str, ...]:
    """Say how the limits of a p chart were made, and what they do not know.

    Parameters
    ----------
    chart
        The chart.
    what
        What a point is called, such as "lot".
    things
        What was judged.

    Returns
    -------
    tuple of str
        A sentence or more each; the most important first.
    """
    if chart.limits == NO_LIMITS:
        return (_no_limits(chart, what, things),)
    made = (
        f"exact (binomial), since fewer than 5 NOK or OK {things} are expected in a {what}"
        if chart.limits == EXACT
        else f"three sigma by the number of {things} of each {what}, cut off at 0 %"
    )
    return (
        *_differ(chart, what),
        (
            f"Control limits: {made}; from {_from(chart.baseline, len(chart.points), what)}."
            f"{_provisional(chart)}"
        ),
        (
            f"Run rules 1 and 4: outside the limits; 8 {what}s or more in a row on one side (more where "
            f"most lie there by chance). {_false(chart.false_chance)} {_ALIKE[things]}"
        ),
    )


def _differ(chart: ProportionChart, what: str) -> Iterator[str]:
    if chart.differs and chart.alike is not None:
        yield (
            f"The {chart.baseline} {what}s that make the limits differ more than chance lets them "
            f"({p_in_words(chart.alike.p)}, {chart.alike.how}): a change among them widens "
            "the limits, so that it need not give a signal. Look where the share changed."
        )


_ALIKE = {
    "parts": "Parts made alike (one box, one shift) vary more than these limits know.",
    "answers": (
        "Answers of one audit are not independent and vary more than these limits know; what is asked "
        "changes from week to week."
    ),
}
"""What the limits leave out, by what was judged."""


def individuals_notes(chart: IndividualsChart) -> tuple[str, ...]:
    """Say how the limits of a chart of individual values were made; as :func:`proportion_notes`."""
    if chart.centre is None:
        return (f"No control limits: {chart.why_none}.",)
    return (
        (
            "Control limits: mean and 3 sigma on each side, sigma = mean moving range / 1.12838; "
            f"from {_from(chart.baseline, len(chart.values), 'value')}.{_provisional(chart)}"
        ),
        (
            f"All eight run rules. {_false(chart.false_chance)} They need values of about a bell curve in "
            "the order of making."
        ),
    )


def _from(baseline: int, points: int, what: str) -> str:
    if baseline == points:
        return f"all {points} {what}s"
    return f"the first {baseline} of {points} {what}s, and held for the others"


def _provisional(chart: ProportionChart | IndividualsChart) -> str:
    if not chart.is_provisional:
        return ""
    return f" Provisional: {chart.baseline} are fewer than {FIRM_POINTS}."


def _false(chance: float | None) -> str:
    assert chance is not None
    return f"A stable process gives a signal in {in_hundred(chance)} such charts."


def in_hundred(chance: float) -> str:
    """Write how many of a hundred, rounded.

    Examples
    --------
    >>> in_hundred(0.374), in_hundred(0.002), in_hundred(0.9989)
    ('about 37 of 100', 'fewer than 1 of 100', 'more than 99 of 100')
    """
    if chance < 0.01:
        return "fewer than 1 of 100"
    return "more than 99 of 100" if chance > 0.99 else f"about {100 * chance:.0f} of 100"


def _no_limits(chart: ProportionChart, what: str, things: str) -> str:
    if chart.baseline < FEWEST_LOTS:
        return f"No control limits: they need {FEWEST_LOTS} {what}s at least."
    which = "all" if chart.baseline == len(chart.points) else f"the first {chart.baseline}"
    limit = percent_at_most(upper_limit(0, chart.checked).high)
    parts = f"{chart.checked:,} {things} of {which} {what}s"
    sure = f"at most {limit} (exact, one-sided 95 %)"
    if chart.nok == 0:
        return f"No control limits: none of the {parts} was NOK. The share NOK is {sure}."
    return f"No control limits: all {parts} were NOK. The share OK is {sure}."
