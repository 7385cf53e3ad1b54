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
from walkapp.language import decimal_text, msg, tr, trn, whole_text

RULE_NAMES = {
    OUTSIDE: msg("outside the limits"),
    TWO_OF_THREE: msg("2 of 3 beyond 2 sigma"),
    FOUR_OF_FIVE: msg("4 of 5 beyond 1 sigma"),
    ONE_SIDE: msg("8 or more on one side"),
    TREND: msg("6 or more rising or falling"),
    ALTERNATING: msg("14 or more up and down in turn"),
    CLOSE: msg("15 or more within 1 sigma"),
    APART: msg("8 or more beyond 1 sigma, on both sides"),
}
"""Each rule in a few words, by its number."""

_SUGGESTS = {
    OUTSIDE: msg("Something was different then."),
    TWO_OF_THREE: msg("The level may have moved."),
    FOUR_OF_FIVE: msg("The level may have moved."),
    ONE_SIDE: msg("Something changed at about the first of them."),
    TREND: msg("Something may wear, warm up, fill or empty."),
    ALTERNATING: msg("Two sources may take turns, such as cavities, fixtures, shifts or gauges."),
    CLOSE: msg("Several sources may lie in one chart, or the spread became smaller."),
    APART: msg("Two sources may lie in one chart; draw one for each."),
}

MOST_TOLD = 4
"""Sentences about the signals of one chart."""

GO_AND_SEE = msg("A signal is a reason to go and see, no proof.")


def signal_sentences(
    signals: Sequence[Signal], labels: Sequence[str], most: int = MOST_TOLD
) -> tuple[str, ...]:
    """Tell signals, two sentences each.

    Parameters
    ----------
    signals
        In any order; those that begin first are told first, and a point outside the limits before others.
    labels
        What each point is called: a lot, a day, a week.
    most
        How many there may be, at least 1.

    Returns
    -------
    tuple of str
        Empty without signals. Signals of one rule on one side are told together, about the first of them;
        one more says how many are left out.

    Examples
    --------
    >>> signal_sentences([Signal(rule=1, side=1, points=(1,))], ["L1", "L2"])
    ('Rule 1, outside the limits, above: L2 (point 2 of 2). Something was different then.',)
    """
    alike: dict[tuple[int, int], list[Signal]] = {}
    for one in sorted(signals, key=lambda one: (one.rule != OUTSIDE, one.points[0], one.rule)):
        alike.setdefault((one.rule, one.side), []).append(one)
    said = [
        " ".join((_told(first, others, labels), tr(_SUGGESTS[first.rule])))
        for first, *others in list(alike.values())[:most]
    ]
    if more := sum(len(same) for same in list(alike.values())[most:]):
        said.append(
            trn("And {count} more signal by other rules.", "And {count} more signals by other rules.", more)
        )
    return tuple(said)


def _told(first: Signal, others: Sequence[Signal], labels: Sequence[str]) -> str:
    """Say where a rule found something, how often the same came again, and when last."""
    values = {"rule": first.rule, "sign": _sign(first), "where": _where(first, labels)}
    if not others:
        return tr("Rule {rule}, {sign}: {where}.", **values)
    return trn(
        "Rule {rule}, {sign}: {where}, and {count} more up to point {last}.",
        "Rule {rule}, {sign}: {where}, and {count} more up to point {last}.",
        len(others),
        last=others[-1].points[-1] + 1,
        **values,
    )


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
        return tr("no signal")
    if len(rules) == 1:
        one = len(signals) == 1
        return (
            tr("signal by rule {rule}", rule=rules[0])
            if one
            else tr("signals by rule {rule}", rule=rules[0])
        )
    return tr("signals by rules {rules}", rules=named(rules))


def _sign(signal: Signal) -> str:
    """Name what a rule looks for, and on which side it was found."""
    values = {"rule": tr(RULE_NAMES[signal.rule])}
    if not signal.side:
        return tr(RULE_NAMES[signal.rule])
    if signal.rule == TREND:
        return tr("{rule}, rising", **values) if signal.side > 0 else tr("{rule}, falling", **values)
    return tr("{rule}, above", **values) if signal.side > 0 else tr("{rule}, below", **values)


def _where(signal: Signal, labels: Sequence[str]) -> str:
    first, last = signal.points[0], signal.points[-1]
    values = {"label": labels[first], "first": first + 1, "last": last + 1, "many": len(labels)}
    if first == last:
        return tr("{label} (point {first} of {many})", **values)
    if labels[first] == labels[last]:
        return tr("{label} (points {first} to {last} of {many})", **values)
    return tr(
        "{label} to {last_label} (points {first} to {last} of {many})", last_label=labels[last], **values
    )


def proportion_notes(chart: ProportionChart, things: str = "parts") -> tuple[str, ...]:
    """Say how the limits of a p chart were made, and what they do not know.

    Parameters
    ----------
    chart
        The chart.
    things
        What was judged: "parts" or "answers".

    Returns
    -------
    tuple of str
        A sentence or more each; the most important first.
    """
    if chart.limits == NO_LIMITS:
        return (_no_limits(chart),)
    made = (
        tr("exact (binomial), since fewer than 5 NOK or OK are expected at a point")
        if chart.limits == EXACT
        else tr("three sigma by the number judged at each point, cut off at 0 %")
    )
    return (
        *_differ(chart),
        _in_a_row(
            tr(
                "Control limits: {made}; from {points}.",
                made=made,
                points=_from(chart.baseline, len(chart.points)),
            ),
            _provisional(chart),
        ),
        _in_a_row(
            tr(
                "Run rules 1 and 4: outside the limits; 8 points or more in a row on one side "
                "(more where most lie there by chance)."
            ),
            _false(chart.false_chance),
            tr(_ALIKE[things]),
        ),
    )


def _in_a_row(*sentences: str) -> str:
    return " ".join(filter(None, sentences))


def _differ(chart: ProportionChart) -> Iterator[str]:
    if chart.differs and chart.alike is not None:
        yield (
            tr(
                "The {baseline} points that make the limits differ more than chance lets them "
                "({p}, {how}): a change among them widens the limits, so that it need not give a "
                "signal. Look where the share changed.",
                baseline=chart.baseline,
                p=p_in_words(chart.alike.p),
                how=chart.alike.how,
            )
        )


_ALIKE = {
    "parts": msg("Parts made alike (one box, one shift) vary more than these limits know."),
    "answers": msg(
        "Answers of one audit are not independent and vary more than these limits know; what "
        "is asked changes from week to week."
    ),
}
"""What the limits leave out, by what was judged."""


def individuals_notes(chart: IndividualsChart) -> tuple[str, ...]:
    """Say how the limits of a chart of individual values were made; as :func:`proportion_notes`."""
    if chart.centre is None:
        return (tr("No control limits: {why_none}.", why_none=chart.why_none),)
    return (
        _in_a_row(
            tr(
                "Control limits: mean and 3 sigma on each side, sigma = mean moving range / "
                "{constant}; from {points}.",
                constant=decimal_text("1.12838"),
                points=_from(chart.baseline, len(chart.values)),
            ),
            _provisional(chart),
        ),
        _in_a_row(
            tr("All eight run rules."),
            _false(chart.false_chance),
            tr("They need values of about a bell curve in the order of making."),
        ),
    )


def _from(baseline: int, points: int) -> str:
    if baseline == points:
        return trn("the one point", "all {count} points", points)
    return tr(
        "the first {baseline} of {points} points, and held for the others",
        baseline=baseline,
        points=points,
    )


def _provisional(chart: ProportionChart | IndividualsChart) -> str:
    if not chart.is_provisional:
        return ""
    return tr(
        "Provisional: {baseline} are fewer than {firm_points}.",
        baseline=chart.baseline,
        firm_points=FIRM_POINTS,
    )


def _false(chance: float | None) -> str:
    assert chance is not None
    return tr("A stable process gives a signal in {in_hundred} such charts.", in_hundred=in_hundred(chance))


def in_hundred(chance: float) -> str:
    """Write how many of a hundred, rounded.

    Examples
    --------
    >>> in_hundred(0.374), in_hundred(0.002), in_hundred(0.9989)
    ('about 37 of 100', 'fewer than 1 of 100', 'more than 99 of 100')
    """
    if chance < 0.01:
        return tr("fewer than 1 of 100")
    return (
        tr("more than 99 of 100")
        if chance > 0.99
        else tr("about {what} of 100", what=decimal_text(f"{100 * chance:.0f}"))
    )


def _no_limits(chart: ProportionChart) -> str:
    if chart.baseline < FEWEST_LOTS:
        return tr("No control limits: they need {fewest_lots} points at least.", fewest_lots=FEWEST_LOTS)
    values = {
        "checked": whole_text(chart.checked),
        "baseline": chart.baseline,
        "points": len(chart.points),
        "limit": percent_at_most(upper_limit(0, chart.checked).high),
    }
    is_all = chart.baseline == len(chart.points)
    if chart.nok == 0 and is_all:
        return tr(
            "No control limits: 0 of {checked} NOK at all {points} points. The share NOK is at most "
            "{limit} (exact, one-sided 95 %).",
            **values,
        )
    if chart.nok == 0:
        return tr(
            "No control limits: 0 of {checked} NOK at the first {baseline} points. The share NOK is at "
            "most {limit} (exact, one-sided 95 %).",
            **values,
        )
    if is_all:
        return tr(
            "No control limits: all {checked} NOK at all {points} points. The share OK is at most {limit} "
            "(exact, one-sided 95 %).",
            **values,
        )
    return tr(
        "No control limits: all {checked} NOK at the first {baseline} points. The share OK is at most "
        "{limit} (exact, one-sided 95 %).",
        **values,
    )
