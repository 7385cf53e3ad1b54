"""How quickly questions are answered, against what the same questions take others."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING
from functools import partial
from statistics import median

from walkapp.analysis.audits.facts import AuditDone, Given, Prompt
from walkapp.analysis.audits.looks import LEAST_AUDITS, Groups, Look, corrected_text
from walkapp.analysis.audits.strata import is_between
from walkapp.analysis.homogeneity import LEAST_P
from walkapp.analysis.proportions import fisher_fewer
from walkapp.analysis.wording import percent_at_most, rounded
from walkapp.language import msg, tr

PACE = msg("Pace of the answers")

TOLD_BELOW = 1 / 3
"""Share of the time that the same questions take others, below which the pace is told."""

WHOLE_BELOW = 1 / 2
"""And the share of the time that whole audits like it take others, way and all."""

_LEAST_TIMES = 2
"""Times between answers that an audit needs to say anything of its pace."""

_EXPLAINED = msg(
    "What else may explain it: a quick and practised walker, looking at everything before "
    "the audit was opened on the tablet, somebody else who looked and called the answers, "
    "easy weeks."
)


def pace_looks(groups: Groups, tested: Collection[str]) -> tuple[list[Look], list[Prompt]]:
    """Compare the pace of each group with that of all others.

    Parameters
    ----------
    groups
        All groups; those on paper and times that nobody knows are left out here.
    tested
        Names of the groups to look at.

    Returns
    -------
    looks : list of Look
        One for each group that compares with others: at least five audits on each side in which two or
        more times between answers are known, to questions that several groups answered.
    against_checklist : list of Prompt
        Without a probability, for groups that do not compare with others.

    Notes
    -----
    Used are the times from one answer to the next at one station; the first answer of a station holds
    the way there. Each is divided by the median of all groups for the question, and an audit counts with
    the median of that, so that an interruption does no harm and answers of one audit are not
    taken for independent. Since nothing in that depends on who belongs to which group, all choices of the
    group's n audits out of all N are equally likely when the pace is alike. Counted are those of its
    audits that are among the n quickest of all (with all that tie with the last): hypergeometric,
    exact, one-sided. With complete separation the chance is one in the number of such choices, as
    in the rank-sum test.

    It is told when it is a large difference too: the typical audit below one third of the medians of the
    others; and when the whole audit, from its beginning to its last answer with the ways, takes less than
    one half of what the same answers take others. Who first looks at all of a station and then taps the
    answers one after the other is quick between answers, but not by the whole audit.
    """
    pool = _Pool(groups)
    looks, prompts = [], []
    for group in sorted(tested):
        own, others = pool.counts(group)
        if min(own, others) >= LEAST_AUDITS:
            looks.append(pool.look(group))
        else:
            prompt = _against_checklist(group, groups[group])
            if prompt:
                prompts.append(prompt)
    return looks, prompts


def chance_so_quick(quick: int, audits: int, all_quick: int, all_audits: int) -> float:
    """Give the chance that so many of a group's audits, or more, are among the quickest of all.

    Parameters
    ----------
    quick, audits
        Audits of the group among the quickest, and all of the group.
    all_quick, all_audits
        The quickest of all groups, and all audits.

    Returns
    -------
    float
        Above 0, at most 1; one-sided and exact (hypergeometric), when no group is quicker than others.

    Raises
    ------
    ValueError
        If the counts do not fit together.

    Examples
    --------
    The three quickest of six are the three of one group: 1 in 20.

    >>> round(chance_so_quick(3, 3, 3, 6), 9)
    0.05
    """
    others = all_audits - audits
    others_quick = all_quick - quick
    return max(LEAST_P, fisher_fewer(others_quick, others - others_quick, quick, audits - quick))


def _between(audit: AuditDone) -> Iterator[tuple[Given, float]]:
    """Give the answers whose time holds no walking, with their time in seconds."""
    for place, given in enumerate(audit.given):
        if is_between(audit.given, place):
            seconds = _known(given, audit)
            if seconds is not None:
                yield given, seconds


def _first_at_stations(audit: AuditDone) -> Iterator[Given]:
    """Give the answers whose time holds the way to their station."""
    return (given for place, given in enumerate(audit.given) if not is_between(audit.given, place))


def _known(given: Given, audit: AuditDone) -> float | None:
    seconds = given.seconds
    if audit.is_paper or seconds is None or not math.isfinite(seconds) or seconds < 0:
        return None
    return seconds


def _whole(audit: AuditDone) -> float | None:
    """Give the time from the beginning to the last answer; none where a part of it is not known."""
    parts = [_known(given, audit) for given in audit.given]
    known = [part for part in parts if part is not None]
    return math.fsum(known) if known and len(known) == len(parts) else None


def _ratio(audit: AuditDone, takes: Mapping[str, float]) -> float | None:
    """Typical part of the time that is taken, where that is known of two answers or more."""
    found = [seconds / takes[given.ref] for given, seconds in _between(audit) if given.ref in takes]
    return median(found) if len(found) >= _LEAST_TIMES else None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Size:
    """How large a difference is: typical ratio of so many audits, and that of whole audits."""

    audits: int
    ratio: float
    whole: float
    seconds: float
    takes: float

    @property
    def is_told(self) -> bool:
        return self.ratio < TOLD_BELOW and self.whole < WHOLE_BELOW

    @property
    def in_words(self) -> str:
        return tr(
            "an answer typically comes after {seconds} s, where {seconds2} s are usual: {ratio}",
            seconds=_seconds(self.seconds),
            seconds2=_seconds(self.takes),
            ratio=percent_at_most(self.ratio),
        )


def _size(
    audits: Iterable[AuditDone], takes: Mapping[str, float], first: Callable[[Given], float]
) -> _Size | None:
    """Set audits against what questions, and first answers at a station, take, in seconds.

    None where too little is known. What nobody knows the usual time of is taken for done in no time.
    """
    ratios, wholes, own, theirs = [], [], [], []
    for audit in audits:
        ratio, whole = _ratio(audit, takes), _whole(audit)
        if ratio is None:
            continue
        ratios.append(ratio)
        if whole is not None:
            usual = [takes.get(given.ref, 0.0) for given, _ in _between(audit)]
            usual += [first(given) for given in _first_at_stations(audit)]
            wholes.append(whole / math.fsum(usual))
        for given, seconds in _between(audit):
            if given.ref in takes:
                own.append(seconds)
                theirs.append(takes[given.ref])
    if len(ratios) < LEAST_AUDITS or len(wholes) < LEAST_AUDITS:
        return None
    return _Size(
        audits=len(ratios),
        ratio=median(ratios),
        whole=median(wholes),
        seconds=median(own),
        takes=median(theirs),
    )


_Times = dict[str, dict[str, list[float]]]
"""Times in seconds by question or station, then by group."""


class _Pool:
    """The times of all groups: between answers by question, to the first answer by station."""

    def __init__(self, groups: Groups) -> None:
        self._groups = groups
        self._times: _Times = {}
        self._ways: _Times = {}
        for group, audits in groups.items():
            for audit in audits:
                for given, seconds in _between(audit):
                    self._times.setdefault(given.ref, {}).setdefault(group, []).append(seconds)
                for given in _first_at_stations(audit):
                    if (seconds_there := _known(given, audit)) is not None:
                        self._ways.setdefault(given.station, {}).setdefault(group, []).append(seconds_there)
        usual = _medians(
            (ref, by_group.values()) for ref, by_group in self._times.items() if len(by_group) > 1
        )
        self._ratios = {
            group: [ratio for audit in audits if (ratio := _ratio(audit, usual)) is not None]
            for group, audits in groups.items()
        }
        self._sorted = sorted(ratio for ratios in self._ratios.values() for ratio in ratios)

    def counts(self, group: str) -> tuple[int, int]:
        own = len(self._ratios[group])
        return own, len(self._sorted) - own

    def look(self, group: str) -> Look:
        ratios = self._ratios[group]
        audits, all_audits = len(ratios), len(self._sorted)
        cut = self._sorted[audits - 1]
        quick = sum(ratio <= cut for ratio in ratios)
        all_quick = sum(ratio <= cut for ratio in self._sorted)
        counts = (quick, audits, all_quick, all_audits)
        return Look(
            group=group,
            p=chance_so_quick(*counts),
            least=chance_so_quick(audits, audits, all_quick, all_audits),
            tell=partial(self._tell, group, counts),
        )

    def _tell(self, group: str, counts: tuple[int, int, int, int], p: float, looks: int) -> Prompt | None:
        ways = _others(self._ways, group)
        size = _size(
            self._groups[group], _others(self._times, group), lambda given: ways.get(given.station, 0.0)
        )
        if size is None or not size.is_told:
            return None
        quick, audits, all_quick, all_audits = counts
        return Prompt(
            kind=tr(PACE),
            where=group,
            sentence=tr(
                "Worth walking one audit together with {group}: {in_words} of the time that "
                "the same questions take others, in {audits} audits.",
                group=group,
                in_words=size.in_words,
                audits=audits,
            ),
            lines=(
                tr(
                    "Of the {all_quick} quickest of all {all_audits} audits {quick} are "
                    "among these {audits}: exact, one-sided, {p}.",
                    all_quick=all_quick,
                    all_audits=all_audits,
                    quick=quick,
                    audits=audits,
                    p=corrected_text(p, looks),
                ),
                tr(
                    "Each time between two answers at one station, set against the median "
                    "for the same question; an audit counts once, by its middle answer. Left "
                    "out: the first answer at a station (it holds the way), paper, and times "
                    "where the clock went back."
                ),
                tr(
                    "Told only below one third, and only if whole audits, with the ways, "
                    "take less than one half: {whole}. So looking first and tapping then "
                    "alone does not explain it.",
                    whole=percent_at_most(size.whole),
                ),
                tr(_EXPLAINED),
            ),
            p=p,
        )


def _others(times: Mapping[str, Mapping[str, Sequence[float]]], group: str) -> dict[str, float]:
    """What takes all other groups how long, of what a group did too; medians in seconds."""
    return _medians(
        (key, [of_group for name, of_group in by_group.items() if name != group])
        for key, by_group in times.items()
        if group in by_group
    )


def _medians(times: Iterable[tuple[str, Iterable[Sequence[float]]]]) -> dict[str, float]:
    """Give the median of each where there is any time and it is above 0."""
    found = {}
    for ref, of_groups in times:
        all_times = [seconds for of_group in of_groups for seconds in of_group]
        if all_times and (usual := median(all_times)) > 0:
            found[ref] = usual
    return found


def _against_checklist(group: str, audits: Sequence[AuditDone]) -> Prompt | None:
    takes = {
        given.ref: given.expected
        for audit in audits
        for given in audit.given
        if given.expected is not None and math.isfinite(given.expected) and given.expected > 0
    }
    size = _size(audits, takes, lambda given: takes.get(given.ref, 0.0))
    if size is None or not size.is_told:
        return None
    return Prompt(
        kind=tr(PACE),
        where=group,
        sentence=tr(
            "Worth walking one audit together with {group}: {in_words} of the time that the "
            "checklist gives to the questions, in {audits} audits.",
            group=group,
            in_words=size.in_words,
            audits=size.audits,
        ),
        lines=(
            tr(
                "Compared with the checklist, since too few others answered these questions; "
                "so there is no probability."
            ),
            tr(
                "Times between two answers at one station; the first answer at a station (it "
                "holds the way), paper, and times where the clock went back are left out. "
                "Told only below one third, and only if whole audits, with the ways, take "
                "less than one half: {whole}.",
                whole=percent_at_most(size.whole),
            ),
            tr(_EXPLAINED),
            tr("Or the checklist gives more time than the questions take."),
        ),
    )


def _seconds(value: float) -> str:
    return rounded(value, 0 if value >= 10 else 1, ROUND_CEILING)
