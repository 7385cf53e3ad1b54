"""Long runs of the same answer, against what others answer to the same questions in the same weeks."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import groupby

from walkapp.analysis.audits.facts import AuditDone, Given, Prompt
from walkapp.analysis.audits.looks import LEAST_AUDITS, Groups, Look, corrected_text
from walkapp.analysis.audits.strata import (
    NOK,
    NOT_APPLICABLE,
    OK,
    Answers,
    Place,
    Strata,
    place_of,
)
from walkapp.analysis.homogeneity import LEAST_P
from walkapp.analysis.runs import chance_of_run, longest_run
from walkapp.analysis.special import hypergeometric_log_pmf
from walkapp.analysis.wording import counts_text
from walkapp.language import msg, tr

NEVER_NOK = msg("Never NOK where others find NOK")
LONG_RUN = msg("Many OK one after the other where others find NOK")
SAME_REASON = msg("N/A for the same reason, time after time")

LEAST_ANSWERS = 20
"""Answers OK or NOK that a group needs before anything is told of their runs."""

LEAST_VISITS = 5
"""Visits to a station that a group needs before anything is told of runs of N/A."""


# ------------------------------------------------------------------------------------------ OK


def ok_looks(groups: Groups, tested: Collection[str], strata: Strata) -> list[Look]:
    """Look at the longest run of OK of each group; no NOK at all is the longest that can be.

    Parameters
    ----------
    groups
        All groups.
    tested
        Names of the groups to look at: at least five audits and 20 answers OK or NOK, and in some week
        both OK and NOK to a question that it and another group answered.
    strata
        The answers of all groups by question and week.

    Returns
    -------
    list of Look

    Notes
    -----
    Given the OK and NOK to a question in a week, each of these answers is as likely as the others to be
    a NOK when all look alike. So the chance that an answer of the group is OK is the share OK of its
    question and week, its own answer among them; for no NOK at all the chances of its weeks are
    hypergeometric and are multiplied (:func:`chance_of_none`). That is exact. For a shorter run the
    answers are taken as independent with these chances (:func:`chance_of_run`), which is exact where the
    group answered a question once in a week. Both are one test, since no NOK at all is the longest run.
    N/A neither lengthens nor breaks a run.
    """
    looks = []
    for group in sorted(tested):
        judged = [_Judged(audit, given, place_of(audit, given)) for audit, given in _judged(groups[group])]
        places = {one.place for one in judged}
        apart = any(0 < strata.total(place).nok < strata.total(place).judged for place in places)
        if len(groups[group]) < LEAST_AUDITS or len(judged) < LEAST_ANSWERS or not apart:
            continue
        none = chance_of_none(
            [(strata.groups(place)[group], strata.total(place)) for place in sorted(places)]
        )
        hits = [one.given.answer == OK for one in judged]
        start, length = longest_run(hits)
        if length == len(hits):
            looks.append(
                Look(group=group, p=none, least=none, tell=partial(_tell_never, group, judged, strata))
            )
            continue
        chances = [_share_ok(strata.total(one.place)) for one in judged]
        p = chance_of_run(chances, length) if length else 1.0
        run = judged[start : start + length]
        looks.append(
            Look(
                group=group,
                p=max(none, p),
                least=none,
                tell=partial(_tell_run, group, run, len(judged), strata),
            )
        )
    return looks


def chance_of_none(places: Sequence[tuple[Answers, Answers]]) -> float:
    """Give the chance that a group has no NOK at all, with the OK and NOK of every place given.

    Parameters
    ----------
    places
        For each question and week the answers of the group, and those of all groups with it.

    Returns
    -------
    float
        Above 0, at most 1; one-sided and exact: the product of hypergeometric chances of none.

    Examples
    --------
    Two answers of four, with one NOK among the four, and again so: a quarter.

    >>> round(chance_of_none([(Answers(ok=2), Answers(ok=3, nok=1))] * 2), 12)
    0.25
    """
    logs = (
        hypergeometric_log_pmf(0, total.nok, total.ok, own.judged) for own, total in places if total.nok
    )
    return max(LEAST_P, min(1.0, math.exp(math.fsum(logs))))


@dataclass(frozen=True, slots=True)
class _Judged:
    audit: AuditDone
    given: Given
    place: Place


def _judged(audits: Sequence[AuditDone]) -> Iterator[tuple[AuditDone, Given]]:
    for audit in audits:
        for given in audit.given:
            if given.answer in (OK, NOK):
                yield audit, given


def _share_ok(total: Answers) -> float:
    return total.ok / total.judged


def _others(group: str, places: Collection[Place], strata: Strata) -> Answers:

    return sum((strata.others(place, group) for place in places), Answers())


def _tell_never(group: str, judged: Sequence[_Judged], strata: Strata, p: float, looks: int) -> Prompt:
    places = {one.place for one in judged}
    others = _others(group, places, strata)
    compared = sum(strata.others(one.place, group).judged > 0 for one in judged)
    return Prompt(
        kind=tr(NEVER_NOK),
        where=group,
        sentence=tr(
            "Worth looking together with {group}: {what}, where others found {nok} to the "
            "same questions in the same weeks.",
            group=group,
            what=counts_text(0, len(judged)),
            nok=counts_text(others.nok, others.judged),
        ),
        lines=(
            tr(
                "Chance of no NOK at all if every answer to a question in a week is as "
                "likely to be one of its NOK: exact, one-sided, {p}.",
                p=corrected_text(p, looks),
            ),
            tr(
                "{compared} of the {judged} answers compare with others of the same week; a "
                "defect that was mended in another week says nothing here, within a week it "
                "still may.",
                compared=compared,
                judged=len(judged),
            ),
            tr(_EXPLAINED),
            tr(_GO_AND_SEE),
        ),
        p=p,
    )


def _tell_run(
    group: str, run: Sequence[_Judged], judged: int, strata: Strata, p: float, looks: int
) -> Prompt:
    others = _others(group, {one.place for one in run}, strata)
    whole = len({one.audit.id for one in run} - _cut_audits(run))
    return Prompt(
        kind=tr(LONG_RUN),
        where=group,
        sentence=tr(
            "Worth looking together with {group}: {run} answers one after the other are OK, "
            "{days}, where others found {nok} to the same questions in the same weeks.",
            group=group,
            run=len(run),
            days=_days(run[0].audit, run[-1].audit),
            nok=counts_text(others.nok, others.judged),
        ),
        lines=(
            tr(
                "Chance of a run so long among {judged} answers, each with the share OK of "
                "its question and week: answer by answer, one-sided, {p}.",
                judged=judged,
                p=corrected_text(p, looks),
            ),
            tr(
                "Whole audits in the run, answered OK throughout: {whole}. N/A is left out of it.",
                whole=whole,
            ),
            tr(_EXPLAINED),
            tr(_GO_AND_SEE),
        ),
        p=p,
    )


def _cut_audits(run: Sequence[_Judged]) -> set[str]:
    """Audits at either end of a run of which other answers, not OK, lie outside it."""
    cut = set()
    for audit in (run[0].audit, run[-1].audit):
        inside = sum(one.audit is audit for one in run)
        if inside < sum(given.answer in (OK, NOK) for given in audit.given):
            cut.add(audit.id)
    return cut


_EXPLAINED = msg(
    "What else may explain it: easy weeks or hours, a condition that comes up in other "
    "shifts alone, things put right before they were answered, few audits."
)
_GO_AND_SEE = msg("To find out: walk the next audit together, and look at what others found NOK.")


def _days(first: AuditDone, last: AuditDone) -> str:
    begun, ended = first.begun.date(), last.begun.date()
    return (
        tr("on {begun}", begun=begun)
        if begun == ended
        else tr("{begun} to {ended}", begun=begun, ended=ended)
    )


# ----------------------------------------------------------------------------------------- N/A


def not_applicable_looks(groups: Groups, tested: Collection[str], strata: Strata) -> list[Look]:
    """Look at the longest run of visits of each group that were N/A throughout for the same reason.

    Parameters
    ----------
    groups
        All groups.
    tested
        Names of the groups to look at: at least five audits and five visits to a station, one of them
        with N/A to a question that another group answered otherwise in that week.
    strata
        The answers of all groups by question and week.

    Returns
    -------
    list of Look

    Notes
    -----
    Who finds a station standing still answers all its questions N/A, so the visit is what counts, not the
    answer. Its chance is at most that of its least likely N/A: the share N/A of a question and week, the
    group's own answer among them. Further visits of one audit are taken for certain once the first was
    N/A, since a line that stands still concerns all its stations. Both make the chance too large
    rather than too small. The reasons of others do not matter, which again makes it larger.
    """
    looks = []
    for group in sorted(tested):
        visits = [visit for audit in groups[group] for visit in _visits(audit, strata)]
        if len(groups[group]) < LEAST_AUDITS or len(visits) < LEAST_VISITS:
            continue
        chances = [1.0 if visit.is_later else visit.chance for visit in visits]
        if not any(0.0 < visit.chance < 1.0 for visit in visits):
            continue
        runs = (list(run) for reason, run in groupby(visits, key=lambda visit: visit.reason) if reason)
        run: list[_Visit] = max(runs, key=len, default=[])
        looks.append(
            Look(
                group=group,
                p=max(LEAST_P, chance_of_run(chances, len(run))) if run else 1.0,
                least=max(LEAST_P, chance_of_run(chances, len(visits))),
                tell=partial(_tell_reason, group, run, len(visits), strata),
            )
        )
    return looks


@dataclass(frozen=True, slots=True)
class _Visit:
    """Answers of an audit at one station, one after the other.

    `reason` is that of all of them, empty unless all are N/A for the same; `is_later` means that the
    audit visited a station before.
    """

    audit: AuditDone
    places: tuple[Place, ...]
    reason: str
    chance: float
    is_later: bool


def _visits(audit: AuditDone, strata: Strata) -> Iterator[_Visit]:
    for number, (_, answers) in enumerate(groupby(audit.given, key=lambda given: given.station)):
        given = list(answers)
        places = tuple(place_of(audit, one) for one in given)
        totals = [strata.total(place) for place in places]
        reasons = {one.reason.strip() if one.answer == NOT_APPLICABLE else "" for one in given}
        yield _Visit(
            audit=audit,
            places=places,
            reason=reasons.pop() if len(reasons) == 1 else "",
            chance=min(total.not_applicable / total.given for total in totals),
            is_later=number > 0,
        )


def _tell_reason(
    group: str, run: Sequence[_Visit], visits: int, strata: Strata, p: float, looks: int
) -> Prompt:
    others = _others(group, {place for visit in run for place in visit.places}, strata)
    return Prompt(
        kind=tr(SAME_REASON),
        where=group,
        sentence=tr(
            "Worth going to these stations together with {group}: {run} visits one after the "
            "other are N/A for the same reason ({reason}), {days}; others answered {judged} "
            "of {given} of the same questions in the same weeks OK or NOK.",
            group=group,
            run=len(run),
            reason=run[0].reason,
            days=_days(run[0].audit, run[-1].audit),
            judged=others.judged,
            given=others.given,
        ),
        lines=(
            tr(
                "Chance of a run so long among {visits} visits, each with the share N/A of "
                "its least likely question and week; further stations of one audit are taken "
                "for certain: at most, one-sided, {p}.",
                visits=visits,
                p=corrected_text(p, looks),
            ),
            tr(
                "What else may explain it: a station or line that stands still in this shift "
                "alone, questions that do not fit what is made then, few audits."
            ),
            tr(
                "To find out: go and see whether it is so, and whether the questions fit what is "
                "made there."
            ),
        ),
        p=p,
    )
