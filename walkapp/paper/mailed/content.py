"""What stands on a page to be mailed, beside what a sheet says: texts and figures."""

from __future__ import annotations

from dataclasses import dataclass

from walkapp.paper.figures import Figure
from walkapp.paper.sheet_content import SheetContent


@dataclass(frozen=True, slots=True, kw_only=True)
class MailStation:
    """What stands of a station beside its counts and verdict, in words.

    Parameters
    ----------
    share
        Share of NOK parts; a dash when none was checked.
    limits
        Its exact two-sided 95 % limits; a dash when none was checked.
    starts_here
        Probability that the defect starts here.
    """

    share: str
    limits: str
    starts_here: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MailSide:
    """One of the values of entries that disagree.

    Parameters
    ----------
    value
        What it says.
    source
        Which tablet said it, when, and who.
    counts
        Whether it is the one that counts until a person settles it.
    """

    value: str
    source: str
    counts: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MailDispute:
    """Entries that disagree.

    Parameters
    ----------
    about
        What they are about.
    sides
        Their values; some may be left out.
    left_out
        How many values more there are.
    """

    about: str
    sides: tuple[MailSide, ...]
    left_out: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class MailConcern:
    """One concern of the page.

    Parameters
    ----------
    content
        What a sheet says of it; its pictures may be fewer.
    stations
        One for each station of `content`.
    elsewhere
        Probability that the defect is not present in the stream at all, in words; empty when unknown.
    figures
        What is drawn of it.
    figures_note
        Which figures could not be drawn, and why, a sentence each.
    disputes
        Entries that disagree.
    disputes_left_out
        How many more of them there are.
    must_escalate
        Whether nobody has recorded who was told of this safety concern.
    """

    content: SheetContent
    stations: tuple[MailStation, ...]
    elsewhere: str
    figures: tuple[Figure, ...]
    figures_note: tuple[str, ...]
    disputes: tuple[MailDispute, ...]
    disputes_left_out: int
    must_escalate: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MailPage:
    """Everything that stands on a page.

    Parameters
    ----------
    title
        What the page is about.
    made
        When and by what it was made, a sentence each.
    warnings
        What has to be minded before anything else.
    concerns
        The concerns, the newest first; at least one.
    left_out
        What the records have and the page has not, a sentence each.
    """

    title: str
    made: tuple[str, ...]
    warnings: tuple[str, ...]
    concerns: tuple[MailConcern, ...]
    left_out: tuple[str, ...]
