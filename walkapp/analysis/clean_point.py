"""What the OK parts from a clean point on support, and whether an escape contradicts it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from walkapp.analysis.finite_lots import most_affected, parts_to_prove_lot_clean
from walkapp.analysis.proportions import parts_to_prove_clean, upper_limit
from walkapp.analysis.wording import percent, percent_at_most
from walkapp.language import decimal_text, msg, tr, trn, whole_text
from walkapp.model.checklist import CLEAN_CONFIDENCE

SHARES = (0.05, 0.01, 0.001)
"""Shares for which it is said how many more OK parts would support them."""

CONTRADICTS, IN_DOUBT, BEFORE, BEFORE_BY_LOT = (
    "contradicts",
    msg("in doubt"),
    "before",
    msg("before by its lot"),
)
"""What an escape says of a clean point."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanSupport:
    """What a sample of OK parts supports.

    Parameters
    ----------
    checked
        Parts checked, all OK.
    lot_size
        Parts in the lot that they were taken from; none when the lot is not limited or not known.
    detection
        Chance that a bad part is called NOK.
    share
        Fewer than this share are affected, with 95 % confidence, one-sided; 1 when nothing is shown.
    most
        The same as the greatest number of affected parts of the lot; none without a lot size.
    more
        For each of ``SHARES`` that is not supported yet: the share, and how many more OK parts support
        it; none when no number of parts of the lot does.
    """

    checked: int
    lot_size: int | None
    detection: float
    share: float
    most: int | None
    more: tuple[tuple[float, int | None], ...]

    @property
    def sentence(self) -> str:
        """What it supports, in words."""
        certain = tr(
            "with {clean_confidence} % confidence (one-sided)",
            clean_confidence=decimal_text(f"{CLEAN_CONFIDENCE * 100:g}"),
        )
        of = trn("{count} OK part", "{count} OK parts", self.checked)
        if self.lot_size is not None and self.most is not None:
            of += tr(" of a lot of {lot_size}", lot_size=whole_text(self.lot_size))
            if self.most == self.lot_size:
                return tr("{of}: too few to support anything {certain}.", of=of, certain=certain)
            left = (
                tr("none is affected")
                if self.most == 0
                else tr("at most {most} are affected", most=whole_text(self.most))
            )
            return f"{of}: {left} {certain}."
        if self.share >= 1.0:
            return tr("{of}: too few to support anything {certain}.", of=of, certain=certain)
        return tr(
            "{of}: fewer than {share} are affected {certain}.",
            of=of,
            share=share_words(self.share),
            certain=certain,
        )

    @property
    def lines(self) -> tuple[str, ...]:
        """The sentence, what the check takes away from it, and what more parts would bring."""
        said = [self.sentence]
        if self.detection < 1.0:
            said.append(
                tr(
                    "Reckoned with a check that finds {detection} of bad parts.",
                    detection=percent(self.detection),
                )
            )
        wanted = [
            tr("{parts} more for fewer than {share}", parts=whole_text(parts), share=share_words(share))
            for share, parts in self.more
            if parts is not None
        ]
        if wanted:
            said.append(tr("Further OK parts needed: {wanted}.", wanted=", ".join(wanted)))
        never = [share for share, parts in self.more if parts is None]
        if never:
            said.append(
                tr(
                    "Fewer than {share} cannot be shown for this lot with this check.",
                    share=share_words(never[0]),
                )
            )
        if self.lot_size is not None:
            said.append(tr("This speaks for that lot alone, not for the lots after it."))
        return tuple(said)


def clean_support(checked: int, *, lot_size: int | None = None, detection: float = 1.0) -> CleanSupport:
    """Work out what OK parts support with 95 % confidence, one-sided.

    Parameters
    ----------
    checked
        Parts checked, all OK; at least 1, at most `lot_size`.
    lot_size
        Parts in the lot that they were taken from; none when not known.
    detection
        Chance that a bad part is called NOK, above 0 and at most 1.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    Exact: binomial, ``(1 - share * detection) ** checked`` is 5 %, and for a lot of known size
    hypergeometric. The parts are taken to be drawn at random.

    References
    ----------
    Success-run sample sizes (59 parts for 95 % with 95 % confidence) are standard; see
    :func:`walkapp.analysis.proportions.parts_to_prove_clean`.

    Examples
    --------
    >>> clean_support(59).sentence
    '59 OK parts: fewer than 5 % are affected with 95 % confidence (one-sided).'
    >>> clean_support(45, lot_size=100).sentence
    '45 OK parts of a lot of 100: at most 4 are affected with 95 % confidence (one-sided).'
    """
    if lot_size is None:
        limit = upper_limit(0, checked, CLEAN_CONFIDENCE)
        share, most = min(1.0, limit.high / detection), None
    else:
        most = most_affected(checked, lot_size, CLEAN_CONFIDENCE, detection)
        share = min(1.0, (most + 1) / lot_size)
    more: list[tuple[float, int | None]] = []
    for wanted in SHARES:
        needed = (
            parts_to_prove_clean(wanted, CLEAN_CONFIDENCE, detection)
            if lot_size is None
            else parts_to_prove_lot_clean(wanted, lot_size, CLEAN_CONFIDENCE, detection)
        )
        if needed is None or needed > checked:
            more.append((wanted, None if needed is None else needed - checked))
    return CleanSupport(
        checked=checked, lot_size=lot_size, detection=detection, share=share, most=most, more=tuple(more)
    )


def share_words(share: float) -> str:
    """Write an upper limit of a share, rounded up; small ones as parts in a million.

    Examples
    --------
    >>> share_words(0.0495), share_words(0.001), share_words(0.0000299)
    ('5 %', '0.1 %', '30 in a million')
    """
    parts = int((Decimal(repr(float(share))) * 1_000_000).to_integral_value(ROUND_CEILING))
    return tr("{parts} in a million", parts=parts) if parts < 1000 else percent_at_most(max(share, 0.001))


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeWhen:
    """Which parts: by lot and production day, as far as known.

    Parameters
    ----------
    lot
        As printed on the label; empty when not known.
    made_on
        Production day, ISO 8601; empty when not known.
    """

    lot: str = ""
    made_on: str = ""


def judge_escape(clean: MadeWhen, certified_on: str, escape: MadeWhen, found_on: str) -> str:
    """Say whether bad parts contradict a clean point.

    Parameters
    ----------
    clean
        First parts that are certified good.
    certified_on
        Day on which they were certified, ISO 8601.
    escape
        The bad parts.
    found_on
        Day on which they were found, ISO 8601.

    Returns
    -------
    str
        ``CONTRADICTS`` when they were made from the clean point on: of the same lot, of its day or a
        later one, or of a later lot. ``BEFORE`` when they were made before it, ``BEFORE_BY_LOT`` when
        only the numbers of the lots say so, which then has to be said. ``IN_DOUBT`` when there
        are two lots and they do not compare. Where there is nothing to compare: ``IN_DOUBT`` when they
        were found from the certification on, else ``BEFORE``.

    Examples
    --------
    >>> judge_escape(MadeWhen(lot="0303-1"), "2026-03-03", MadeWhen(lot="0304-1"), "2026-03-05")
    'contradicts'
    """
    order = lot_order(escape.lot, clean.lot)
    if order == 0:
        return CONTRADICTS
    if escape.made_on and clean.made_on:
        return CONTRADICTS if escape.made_on >= clean.made_on else BEFORE
    if order is not None:
        return CONTRADICTS if order > 0 else BEFORE_BY_LOT
    has_two_lots = bool(escape.lot and clean.lot)
    return IN_DOUBT if has_two_lots or found_on >= certified_on else BEFORE


def lot_order(lot: str, other: str) -> int | None:
    """Compare two lots whose labels are alike but for their numbers.

    Parameters
    ----------
    lot, other
        As printed; numbers are taken to be counted upwards.

    Returns
    -------
    int or None
        -1 when `lot` is the earlier one, 0 for the same, 1 for the later one. None when the labels do
        not compare: other words, or one number higher and another one lower, as with a month and a
        year, where nobody can tell which one leads.

    Examples
    --------
    >>> lot_order("0303-2", "0303-10"), lot_order("L 7", "l7"), lot_order("12-25", "01-26") is None
    (-1, 0, True)
    """
    (words, numbers), (other_words, other_numbers) = _taken_apart(lot), _taken_apart(other)
    if not (lot and other) or words != other_words:
        return None
    signs = {(one > two) - (one < two) for one, two in zip(numbers, other_numbers, strict=True)} - {0}
    if len(signs) > 1:
        return None
    return signs.pop() if signs else 0


def _taken_apart(lot: str) -> tuple[str, tuple[int, ...]]:
    bare = "".join(lot.split()).casefold()
    return re.sub(r"[0-9]+", "0", bare), tuple(int(digits) for digits in re.findall(r"[0-9]+", bare))
