"""Layers that disagree on the same question: a prompt to look at the same thing together."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from walkapp.analysis.audits.facts import AuditDone, Prompt
from walkapp.analysis.audits.looks import corrected_text
from walkapp.analysis.audits.strata import Answers, Strata, in_order
from walkapp.analysis.many import holm, worth_testing
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.special import hypergeometric_log_pmf
from walkapp.analysis.within_pairs import CountPair, more_when_on
from walkapp.analysis.wording import counts_text, share_range
from walkapp.language import msg, tr

KIND = msg("Layers answer the same question differently")

LEVEL = 0.05
"""A prompt is given below this, after correction for all that was looked at."""

LEAST_ANSWERS = 5
"""Answers OK or NOK that a layer, and all others together, need to a question."""

MOST_QUESTIONS = 500
"""Questions that are looked at: those with the most answers."""

MOST_LAYERS = 12
"""Layers that are looked at one by one for a question: those with the most answers to it."""


def disagreements_of(done: Sequence[AuditDone], layer_names: Mapping[str, str]) -> tuple[Prompt, ...]:
    """Find questions to which one layer answers NOK more often, or less often, than the others.

    Parameters
    ----------
    done
        Audits in any order; those on paper and those made up count.
    layer_names
        Name of each layer by its id; an id without a name stands for itself.

    Returns
    -------
    tuple of Prompt
        At most one for each question, the smallest p first.

    Notes
    -----
    Compared are answers OK and NOK to one question within one calendar week, in which each answer is
    as likely as the others to be one of its NOK when the layers see and judge alike. The NOK of one layer
    are then hypergeometric in each week, and those of all weeks are added: exact, with the week's answers
    and NOK given, two-sided as twice the smaller side. A defect that is there for some weeks alone thus
    accuses no layer that came before or after it. One layer against all others, for each; with two
    layers that is one test. Corrected by Holm over all questions and layers that could show
    anything (:func:`worth_testing`). The test of Freeman and Halton for all layers at once is not used: it
    takes no weeks, and does not say which layer stands apart. A prompt is wrong, where all layers
    see and judge alike, in at most 5 % of such looks at all questions together.
    """
    questions, many = _questions(done)
    tests = [test for ref, weeks in questions for test in _tests_of(ref, weeks)]
    worth = worth_testing([test.least for test in tests], LEVEL)
    tests = [test for test, is_worth in zip(tests, worth, strict=True) if is_worth]
    corrected = holm([_two_sided(test.pairs) for test in tests])
    told: dict[str, tuple[float, _Test]] = {}
    for p, test in sorted(zip(corrected, tests, strict=True), key=lambda found: (found[0], found[1].key)):
        if p < LEVEL:
            told.setdefault(test.ref, (p, test))
    asked = _asked(done, told)
    left_out = (
        tr(
            " Looked at: the {questions} questions with the most answers, of {many}.",
            questions=len(questions),
            many=many,
        )
        if many > len(questions)
        else ""
    )
    weeks_of = dict(questions)
    return tuple(
        _prompt(
            test, p, f"{corrected_text(p, len(tests))}.{left_out}", weeks_of[ref], asked[ref], layer_names
        )
        for ref, (p, test) in told.items()
    )


_Week = Mapping[str, Answers]
"""The answers of each layer to one question in one week."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Test:
    """One layer against all others, to one question.

    `pairs` holds the layer ("on") and the others ("off") of each week in which something can differ;
    `least` is the smallest p that they could give.
    """

    ref: str
    layer: str
    pairs: tuple[CountPair, ...]
    least: float

    @property
    def key(self) -> tuple[str, str]:
        return self.ref, self.layer


def _questions(done: Sequence[AuditDone]) -> tuple[list[tuple[str, list[_Week]]], int]:
    """Give the weeks of each question in which two layers or more judged it; and how many questions."""
    found: dict[str, list[_Week]] = {}
    strata = Strata(done, lambda audit: audit.layer)
    for place in strata:
        judged = {layer: answers for layer, answers in strata.groups(place).items() if answers.judged}
        if len(judged) > 1:
            found.setdefault(place[0], []).append(judged)
    many = {ref: sum(_total(week).judged for week in weeks) for ref, weeks in found.items()}
    most = sorted(found, key=lambda ref: (-many[ref], ref))[:MOST_QUESTIONS]
    return [(ref, found[ref]) for ref in sorted(most)], len(found)


def _total(answers: Mapping[str, Answers]) -> Answers:
    return sum(answers.values(), Answers())


def _by_layer(weeks: Sequence[_Week]) -> dict[str, Answers]:
    """Count the answers of each layer over all weeks; by the layer's id."""
    found: dict[str, Answers] = {}
    for week in weeks:
        for layer, answers in week.items():
            found[layer] = found.get(layer, Answers()) + answers
    return dict(sorted(found.items()))


def _tests_of(ref: str, weeks: Sequence[_Week]) -> Iterator[_Test]:
    layers = _by_layer(weeks)
    totals = [_total(week) for week in weeks]
    # With two layers the second says what the first says.
    kept = sorted(layers, key=lambda layer: (-layers[layer].judged, layer))
    for layer in sorted(kept[: 1 if len(layers) == 2 else MOST_LAYERS]):
        own = others = 0
        pairs = []
        for week, total in zip(weeks, totals, strict=True):
            mine = week.get(layer)
            if mine is None:
                continue
            own += mine.judged
            others += total.judged - mine.judged
            if 0 < total.nok < total.judged:
                pairs.append(
                    CountPair(
                        on_nok=mine.nok,
                        on_checked=mine.judged,
                        off_nok=total.nok - mine.nok,
                        off_checked=total.judged - mine.judged,
                    )
                )
        if pairs and min(own, others) >= LEAST_ANSWERS:
            yield _Test(ref=ref, layer=layer, pairs=tuple(pairs), least=_least(pairs))


def _least(pairs: Sequence[CountPair]) -> float:
    """Give the p of the outcome that is furthest out, with the margins of all weeks given."""
    lowest = highest = 0.0
    for pair in pairs:
        on, off, nok = pair.on_checked, pair.off_checked, pair.on_nok + pair.off_nok
        lowest += hypergeometric_log_pmf(max(0, nok - off), on, off, nok)
        highest += hypergeometric_log_pmf(min(on, nok), on, off, nok)
    return min(1.0, 2.0 * math.exp(min(0.0, lowest, highest)))


def _two_sided(pairs: Sequence[CountPair]) -> float:
    """Twice the smaller side: that on which the NOK of the layer lie.

    Beyond the mean the other side holds at least one half, since the median of a sum of independent
    marks lies within one of its mean (K. Jogdeo and S. M. Samuels, 1968, from memory).
    """
    seen, expected = sum(pair.on_nok for pair in pairs), sum(pair.expected for pair in pairs)
    return min(1.0, 2.0 * more_when_on(pairs if seen >= expected else [pair.turned for pair in pairs]))


def _asked(done: Sequence[AuditDone], refs: Mapping[str, object]) -> dict[str, str]:
    """Give the newest wording of some questions, with the station."""
    found = {}
    for audit in in_order(done):
        for given in audit.given:
            if given.ref in refs:
                found[given.ref] = f"{given.station}: {given.asked}"
    return found


def _prompt(
    test: _Test, p: float, p_text: str, weeks: Sequence[_Week], asked: str, names: Mapping[str, str]
) -> Prompt:
    layers = _by_layer([week for week in weeks if test.layer in week])
    name = names.get(test.layer, test.layer)
    mine = layers.pop(test.layer)
    others = _total(layers)
    if len(layers) == 1:
        other_id = next(iter(layers))
        other_name = names.get(other_id, other_id)
    else:
        other_name = tr("the other layers")
    return Prompt(
        kind=tr(KIND),
        where=asked,
        sentence=tr(
            "Worth a look together at the same moment, with the limit sample: {name} found "
            "{nok}, {other_name} {nok2}, in the same weeks.",
            name=name,
            nok=counts_text(mine.nok, mine.judged),
            other_name=other_name,
            nok2=counts_text(others.nok, others.judged),
        ),
        lines=(
            *(
                _share_line(names.get(layer, layer), answers)
                for layer, answers in sorted({**layers, test.layer: mine}.items())
            ),
            tr(
                "Exact test within weeks (those with both OK and NOK: {pairs}), two-sided: {p_text}",
                pairs=len(test.pairs),
                p_text=p_text,
            ),
            tr(
                "Only weeks in which two layers or more answered count, so that a defect "
                "that was mended meanwhile says nothing of those who came before or after; "
                "within a week it still may."
            ),
            tr(
                "It may mean that they come at other times, that one of them asked again "
                "where a NOK had been found, or that they judge differently."
            ),
            tr(
                "To find out: look at one part or place together, each judges it alone, then "
                "compare with the limit sample."
            ),
        ),
        p=p,
    )


def _share_line(name: str, answers: Answers) -> str:
    limits = proportion_interval(answers.nok, answers.judged)
    return tr(
        "{name}: {nok}, {low} (exact 95 %, two-sided; each answer taken for itself)",
        name=name,
        nok=counts_text(answers.nok, answers.judged),
        low=share_range(limits.low, limits.high),
    )
