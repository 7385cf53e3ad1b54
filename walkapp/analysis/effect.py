"""Whether an action worked: NOK parts before it against NOK parts after it."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from decimal import Decimal

from walkapp.analysis.proportions import (
    fisher_fewer,
    parts_to_prove_clean,
    proportion_interval,
    share_difference,
    upper_limit,
)
from walkapp.analysis.results import Interval
from walkapp.analysis.wording import (
    counts_text,
    p_in_words,
    rounded,
    share_to,
    value_range,
)
from walkapp.language import decimal_text, msg, tr, trn, whole_text

EFFECTIVE, BETTER, NOT_SHOWN, WORSE = (
    msg("effective"),
    msg("better"),
    msg("not shown"),
    msg("worse"),
)
"""What a check says of an action."""

MET, OPEN, MISSED = "met", msg("not shown yet"), msg("not met")
"""What it says of the criterion: with 95 % confidence met, neither, or with 95 % confidence not met."""

LEVEL = 0.05
"""A p below this is taken for no chance."""

CONFIDENCE = 0.95

MOST_PARTS = 1_000_000
"""No check of more parts is proposed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsJudged:
    """Parts of one side of the comparison.

    Parameters
    ----------
    checked
        Parts checked, at least 1.
    nok
        NOK among them, 0 to `checked`.
    """

    checked: int
    nok: int

    @property
    def share(self) -> float:
        """Share of NOK parts, 0 to 1."""
        return self.nok / self.checked


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectAnswer:
    """What the parts before and after an action say of it.

    Parameters
    ----------
    before, after
        The parts.
    at_most
        The criterion: greatest share of NOK parts afterwards; none when none is stated.
    verdict
        ``EFFECTIVE``, ``BETTER``, ``NOT_SHOWN`` or ``WORSE``.
    criterion
        ``MET``, ``OPEN`` or ``MISSED``; empty when none is stated.
    p_fewer, p_more
        One-sided p of Fisher's exact test: of so few NOK parts after, and of so many, if the action had
        changed nothing.
    drop
        Share before less share after: two-sided 95 % interval (Newcombe's method 10).
    after_limit
        The share after is at most this: exact, one-sided 95 %.
    more_ok
        How many further parts after, all OK, would make it effective; none where it is, where no number
        of up to ``MOST_PARTS`` would, and where it is worse.
    """

    before: PartsJudged
    after: PartsJudged
    at_most: float | None
    verdict: str
    criterion: str
    p_fewer: float
    p_more: float
    drop: Interval
    after_limit: Interval
    more_ok: int | None

    @property
    def sentence(self) -> str:
        """The verdict in one sentence."""
        wanted = share_text(self.at_most)
        too_many = tr(
            "the criterion is not met: with 95 % confidence more than {wanted} are NOK.", wanted=wanted
        )
        match self.verdict:
            case "effective" if self.at_most is None:
                return tr("Effective by the test alone: no criterion is stated.")
            case "effective":
                return tr("Effective: fewer NOK than before, and at most {wanted} is shown.", wanted=wanted)
            case "better" if self.criterion == MISSED:
                return tr("Better, but {too_many}", too_many=too_many)
            case "better":
                return tr(
                    "Better, criterion not shown yet: {what_would_show_it}",
                    what_would_show_it=self._what_would_show_it,
                )
            case "worse":
                return tr("Worse: more NOK than before.")
            case _ if not self.before.nok:
                return tr("Not shown: no part was NOK before, so that nothing could get better.")
            case _ if self.criterion == MISSED:
                return tr("Not shown, and {too_many}", too_many=too_many)
            case _ if self.after.share > self.before.share:
                return tr("Not shown: the share of NOK is higher than before, which may be chance.")
            case _ if self.after.share == self.before.share:
                return tr(
                    "Not shown: the same share of NOK as before; {what_would_show_it}",
                    what_would_show_it=self._what_would_show_it,
                )
            case _:
                return tr(
                    "Not shown: the difference may be chance; {what_would_show_it}",
                    what_would_show_it=self._what_would_show_it,
                )

    @property
    def _what_would_show_it(self) -> str:
        if self.at_most == 0:
            return tr("no number of parts can show 0 %; state a share above 0.")
        if self.more_ok is None:
            return tr("{most_parts} parts would not show it.", most_parts=whole_text(MOST_PARTS))
        return trn(
            "{count} more OK part would show it.", "{count} more OK parts would show it.", self.more_ok
        )

    @property
    def lines(self) -> tuple[str, ...]:
        """The figures that the verdict stands on, and how they were made."""
        before, after = self.before, self.after
        points = 0 if min(abs(self.drop.low), abs(self.drop.high)) >= 0.1 else 1
        drop = value_range(100 * self.drop.low, 100 * self.drop.high, points)
        p_words = p_in_words(self.p_more if self.verdict == WORSE else self.p_fewer)
        wanted = (
            tr("no criterion is stated")
            if self.at_most is None
            else tr("wanted {share}", share=share_text(self.at_most))
        )
        return (
            tr(
                "Before {before} ({share_before}); after {after} ({share_after}).",
                before=counts_text(before.nok, before.checked),
                share_before=_share_seen(before),
                after=counts_text(after.nok, after.checked),
                share_after=_share_seen(after),
            ),
            tr("More NOK after: {p_words} (Fisher's exact test, one-sided).", p_words=p_words)
            if self.verdict == WORSE
            else tr("Fewer NOK after: {p_words} (Fisher's exact test, one-sided).", p_words=p_words),
            tr("Drop: {drop} percentage points (95 %, two-sided, Newcombe's method 10).", drop=drop),
            tr(
                "Now at most {high} NOK (exact, one-sided 95 %); {wanted}.",
                high=share_to(self.after_limit.high),
                wanted=wanted,
            ),
        )


def judge_effect(before: PartsJudged, after: PartsJudged, at_most: float | None = None) -> EffectAnswer:
    """Say whether an action worked.

    Parameters
    ----------
    before, after
        Parts made before the action and after it, judged alike.
    at_most
        The greatest share of NOK parts afterwards that counts as effective, 0 to below 1; none when no
        criterion is stated: then the test alone decides.

    Returns
    -------
    EffectAnswer
        "Effective" when the criterion is met with 95 % confidence and there are fewer NOK than before
        with p below 0.05; "better" when only the second is so; "worse" when there are more NOK than
        before with p below 0.05; "not shown" in all other cases, such as no NOK part before.

    Raises
    ------
    ValueError
        If a count or the criterion is out of range.

    Notes
    -----
    Fisher's exact test, one-sided, on the four counts. The criterion is met when the exact one-sided
    95 % upper limit (Clopper-Pearson) of the share after is at most `at_most`; not met when the lower
    one is above it. Which parts were NOK is taken as it was judged.

    Examples
    --------
    12 of 60 NOK before and none of 59 after, where at most 5 % is wanted.

    >>> before = PartsJudged(checked=60, nok=12)
    >>> judge_effect(before, PartsJudged(checked=59, nok=0), 0.05).verdict
    'effective'
    >>> judge_effect(before, PartsJudged(checked=40, nok=0), 0.05).sentence
    'Better, criterion not shown yet: 19 more OK parts would show it.'
    """
    _check(at_most)
    after_limit = upper_limit(after.nok, after.checked, CONFIDENCE)
    p_fewer, p_more = _p_fewer(before, after), _p_fewer(after, before)
    criterion = _criterion(after, at_most)
    is_better, is_worse = _is_small(p_fewer), _is_small(p_more)
    if is_better:
        verdict = EFFECTIVE if criterion in (MET, "") else BETTER
    else:
        verdict = WORSE if is_worse else NOT_SHOWN
    is_open = verdict in (BETTER, NOT_SHOWN)
    needed = ok_parts_needed(before, at_most, after) if is_open else None
    return EffectAnswer(
        before=before,
        after=after,
        at_most=at_most,
        verdict=verdict,
        criterion=criterion,
        p_fewer=p_fewer,
        p_more=p_more,
        drop=share_difference(before.nok, before.checked, after.nok, after.checked, CONFIDENCE),
        after_limit=after_limit,
        more_ok=needed,
    )


def ok_parts_needed(
    before: PartsJudged | None, at_most: float | None, after: PartsJudged | None = None
) -> int | None:
    """Count the parts, all OK, with which an action would turn out effective.

    Parameters
    ----------
    before
        Parts from before the action; none when they are not known, and the criterion alone decides.
    at_most
        The criterion, as for :func:`judge_effect`.
    after
        Parts already checked from after the action; none when there are none.

    Returns
    -------
    int or None
        Further parts that are needed; 0 when there are enough. None when no number of up to
        ``MOST_PARTS`` is enough (no part was NOK before, or the criterion is 0 %), or nothing says how
        many.

    Raises
    ------
    ValueError
        If the criterion is out of range.

    Notes
    -----
    For the criterion it is the "success run": the smallest sample that shows it with 95 % confidence.

    Examples
    --------
    >>> ok_parts_needed(None, 0.05)
    59
    >>> ok_parts_needed(PartsJudged(checked=20, nok=1), 0.05)
    381
    """
    _check(at_most)
    checked, nok = (after.checked, after.nok) if after else (0, 0)
    if at_most == 0 or (before is None and at_most is None):
        return None
    needed = 0
    if at_most is not None:
        needed = parts_to_prove_clean(at_most, CONFIDENCE, already_checked=checked, nok=nok)
    if needed > MOST_PARTS:
        return None
    if before is None:
        return needed

    def shows(more: int) -> bool:
        parts = checked + more
        return parts > 0 and _is_small(_p_fewer(before, PartsJudged(checked=parts, nok=nok)))

    # The p of more OK parts after is smaller, so that the first number that shows it can be bisected.
    for_test = bisect_left(range(MOST_PARTS + 1), True, key=shows)
    return None if for_test > MOST_PARTS else max(needed, for_test)


def share_text(share: float | None) -> str:
    """Write a criterion with all its digits.

    Examples
    --------
    >>> share_text(0.05), share_text(0.0025), share_text(0.0)
    ('5 %', '0.25 %', '0 %')
    """
    exact = Decimal(repr(float(share or 0))) * 100
    return decimal_text(f"{exact.normalize():f} %")


def _share_seen(parts: PartsJudged) -> str:
    """Write a share that was counted, neither up nor down but rounded."""
    if 0 < parts.share < 0.001:
        return decimal_text("<0.1 %")
    return f"{rounded(100 * parts.share, 1)} %"


def _p_fewer(before: PartsJudged, after: PartsJudged) -> float:
    return fisher_fewer(after.nok, after.checked - after.nok, before.nok, before.checked - before.nok)


def _is_small(p: float) -> bool:
    """Whether p is below the level; one that only rounding puts below it is not."""
    return p < LEVEL * (1.0 - 1e-9)


def _criterion(after: PartsJudged, at_most: float | None) -> str:
    if at_most is None:
        return ""
    if at_most > 0 and not parts_to_prove_clean(
        at_most, CONFIDENCE, already_checked=after.checked, nok=after.nok
    ):
        return MET
    # The lower limit of a two-sided 90 % interval is the one-sided one of 95 %.
    lowest = proportion_interval(after.nok, after.checked, 2 * CONFIDENCE - 1).low
    return MISSED if lowest > at_most else OPEN


def _check(at_most: float | None) -> None:
    if at_most is not None and not 0 <= at_most < 1:
        raise ValueError(f"at_most must be 0 to below 1, not {at_most!r}")
