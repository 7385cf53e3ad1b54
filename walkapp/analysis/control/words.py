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
    OUTSIDE: msg("something was different then"),
    TWO_OF_THREE: msg("the level may have moved"),
    FOUR_OF_FIVE: msg("the level may have moved"),
    ONE_SIDE: msg("something changed at about the first of them"),
    TREND: msg("something may wear, warm up, fill or empty"),
    ALTERNATING: msg("two sources may take turns, such as cavities, fixtures, shifts or gauges"),
    CLOSE: msg("several sources may lie in one chart, or the spread became smaller"),
    APART: msg("two sources may lie in one chart; draw one for each"),
}

MOST_TOLD = 4
"""Sentences about the signals of one chart."""

GO_AND_SEE = msg("A signal is a reason to go and see, no proof.")


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
        tr(
            "Rule {rule}, {rule_names}{side}: {where}{again}. {suggests}.",
            rule=first.rule,
            rule_names=RULE_NAMES[first.rule],
            side=_side(first),
            where=_where(first, labels, what),
            again=_again(others, what),
            suggests=_SUGGESTS[first.rule].capitalize(),
        )
        for first, *others in list(alike.values())[:most]
    ]
    if more := sum(len(same) for same in list(alike.values())[most:]):
        said.append(
            trn("And {count} more signal by other rules.", "And {count} more signals by other rules.", more)
        )
    return tuple(said)


def _again(others: Sequence[Signal], what: str) -> str:
    """Say how often the same came again, and when last."""
    if not others:
        return ""
    return tr(
        ", and {others} more up to {what} {points}",
        others=len(others),
        what=what,
        points=others[-1].points[-1] + 1,
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


def _side(signal: Signal) -> str:
    if signal.rule == TREND:
        return tr(", rising") if signal.side > 0 else tr(", falling")
    return {1: tr(", above"), -1: tr(", below")}.get(signal.side, "")


def _where(signal: Signal, labels: Sequence[str], what: str) -> str:
    first, last, many = signal.points[0], signal.points[-1], len(labels)
    if first == last:
        return tr(
            "{labels} ({what} {first} of {many})",
            labels=labels[first],
            what=what,
            first=first + 1,
            many=many,
        )
    counted = tr("{what} {first} to {last} of {many}", what=what, first=first + 1, last=last + 1, many=many)
    if labels[first] == labels[last]:
        return f"{labels[first]} ({counted})"
    return tr(
        "{labels} to {labels2} ({counted})", labels=labels[first], labels2=labels[last], counted=counted
    )


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
        tr(
            "exact (binomial), since fewer than 5 NOK or OK {things} are expected in a {what}",
            things=things,
            what=what,
        )
        if chart.limits == EXACT
        else tr(
            "three sigma by the number of {things} of each {what}, cut off at 0 %", things=things, what=what
        )
    )
    return (
        *_differ(chart, what),
        tr(
            "Control limits: {made}; from {what}.{provisional}",
            made=made,
            what=_from(chart.baseline, len(chart.points), what),
            provisional=_provisional(chart),
        ),
        tr(
            "Run rules 1 and 4: outside the limits; 8 {what}s or more in a row on one side "
            "(more where most lie there by chance). {false} {alike}",
            what=what,
            false=_false(chart.false_chance),
            alike=_ALIKE[things],
        ),
    )


def _differ(chart: ProportionChart, what: str) -> Iterator[str]:
    if chart.differs and chart.alike is not None:
        yield (
            tr(
                "The {baseline} {what}s that make the limits differ more than chance lets them "
                "({p}, {how}): a change among them widens the limits, so that it need not give a "
                "signal. Look where the share changed.",
                baseline=chart.baseline,
                what=what,
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
        tr(
            "Control limits: mean and 3 sigma on each side, sigma = mean moving range / "
            "1.12838; from {what}.{provisional}",
            what=_from(chart.baseline, len(chart.values), "value"),
            provisional=_provisional(chart),
        ),
        tr(
            "All eight run rules. {false} They need values of about a bell curve in the order of making.",
            false=_false(chart.false_chance),
        ),
    )


def _from(baseline: int, points: int, what: str) -> str:
    if baseline == points:
        return tr("all {points} {what}s", points=points, what=what)
    return tr(
        "the first {baseline} of {points} {what}s, and held for the others",
        baseline=baseline,
        points=points,
        what=what,
    )


def _provisional(chart: ProportionChart | IndividualsChart) -> str:
    if not chart.is_provisional:
        return ""
    return tr(
        " Provisional: {baseline} are fewer than {firm_points}.",
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


def _no_limits(chart: ProportionChart, what: str, things: str) -> str:
    if chart.baseline < FEWEST_LOTS:
        return tr(
            "No control limits: they need {fewest_lots} {what}s at least.",
            fewest_lots=FEWEST_LOTS,
            what=what,
        )
    which = (
        "all"
        if chart.baseline == len(chart.points)
        else tr("the first {baseline}", baseline=chart.baseline)
    )
    limit = percent_at_most(upper_limit(0, chart.checked).high)
    parts = tr(
        "{checked} {things} of {which} {what}s",
        checked=whole_text(chart.checked),
        things=things,
        which=which,
        what=what,
    )
    sure = tr("at most {limit} (exact, one-sided 95 %)", limit=limit)
    if chart.nok == 0:
        return tr(
            "No control limits: none of the {parts} was NOK. The share NOK is {sure}.",
            parts=parts,
            sure=sure,
        )
    return tr("No control limits: all {parts} were NOK. The share OK is {sure}.", parts=parts, sure=sure)
