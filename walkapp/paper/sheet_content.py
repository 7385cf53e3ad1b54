"""What one sheet says of a concern, for whatever it is laid out on: texts, counts and pictures.

Nothing here knows letters, lengths or pages. Lists have the most important first, and whoever has no room
for all of them says how many are left out.
"""

from __future__ import annotations

from dataclasses import dataclass

from walkapp.paper.figures.shares import SharesFigure


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetStage:
    """One stage of the work on the concern.

    Parameters
    ----------
    word
        What it is called, reached or not: "contained", "not contained".
    is_reached
        Whether the records show it.
    why
        What shows it, or what is missing, in one sentence.
    """

    word: str
    is_reached: bool
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetStation:
    """One station of the value stream.

    Parameters
    ----------
    order
        Its place in the stream, from 1; 0 for incoming material.
    name
        What it is called.
    checked, nok
        Parts checked, and NOK among them.
    counted
        The same in words; says so when none was checked.
    state
        The shape of its verdict: ``clean``, ``bad``, ``undecided`` or ``not_visited``.
    verdict
        The same in words.
    mark
        ``first bad`` or ``most likely first bad`` at the station that is named; empty at all others.
    """

    order: int
    name: str
    checked: int
    nok: int
    counted: str
    state: str
    verdict: str
    mark: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPicture:
    """One picture.

    Parameters
    ----------
    label
        What it is: "NOK limit sample", "At Leak test".
    caption
        What somebody wrote of it; may be empty.
    data
        A JPEG, upright, without metadata, with people covered; empty when it cannot be shown.
    width_px, height_px
        Its size in pixels; 0 when it cannot be shown.
    trouble
        Why it cannot be shown, in words; empty when it can.
    """

    label: str
    caption: str
    data: bytes
    width_px: int
    height_px: int
    trouble: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetEntry:
    """One entry of a part.

    Parameters
    ----------
    text
        What it says.
    state
        The shape that stands with `words`: ``clean``, ``bad``, ``undecided`` or ``not_visited``; empty
        for none.
    words
        How it stands, in a few words; empty for none.
    detail
        What else there is to know of it, a sentence or a line each.
    """

    text: str
    state: str = ""
    words: str = ""
    detail: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPart:
    """The answer to one of the questions of a team.

    Parameters
    ----------
    name
        ``cause``, ``containment``, ``actions``, ``results``, ``lessons`` or ``read_across``.
    title
        The question.
    state
        The shape of how it stands, as for an entry.
    sentence
        How it stands, or that nothing is known.
    entries
        The most important first; at most ``MOST_ENTRIES``.
    left_out
        How many further entries the records have.
    """

    name: str
    title: str
    state: str
    sentence: str
    entries: tuple[SheetEntry, ...] = ()
    left_out: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetGap:
    """Something that a good sheet would say and this one cannot.

    Parameters
    ----------
    about
        What it belongs to: the name of a part, or ``escalation``, ``conflicts``, ``checklist``,
        ``walks``, ``judging``, ``pictures``.
    words
        What is missing, in one short sentence.
    """

    about: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetContent:
    """Everything that a sheet says of one concern.

    Parameters
    ----------
    concern
        Id of the concern.
    title
        What is wrong, in one sentence.
    facts
        What is known of it, a line each, beginning with a label and a colon.
    how_to_judge
        How a part is judged; empty when nobody said.
    warnings
        What has to be minded before anything else, the most important first: they stand on every sheet
        in full.
    notices
        Those that may be among the warnings and only inform.
    answer, answer_state
        Where it starts, in a few words to be read from afar, and its shape.
    sentence
        The same in one sentence.
    stages
        How far the work is, in its order.
    stations
        The value stream from its first station on; none while its checklist is not here.
    stations_note
        How many parts were checked and how the verdicts were made, or why there are no stations.
    shares
        The same as a figure; none while no part was checked.
    pictures
        The most telling ones first.
    pictures_note
        What is said of pictures that are not here: how many more the records have, or that there is none.
    parts
        One for each question: see :class:`SheetPart`.
    sure
        How sure the answer is and what it takes for granted, the most important first.
    gaps
        What is missing, the most important first.
    made
        When, where and from what the sheet was made, a line each, beginning with a label and a colon.
    """

    concern: str
    title: str
    facts: tuple[str, ...]
    how_to_judge: str
    warnings: tuple[str, ...]
    notices: tuple[str, ...] = ()
    answer: str
    answer_state: str
    sentence: str
    stages: tuple[SheetStage, ...]
    stations: tuple[SheetStation, ...]
    stations_note: str
    shares: SharesFigure | None
    pictures: tuple[SheetPicture, ...]
    pictures_note: str
    parts: tuple[SheetPart, ...]
    sure: tuple[str, ...]
    gaps: tuple[SheetGap, ...]
    made: tuple[str, ...]


MOST_ENTRIES = 60
"""Entries of a part that are told of; no sheet has room for more."""
