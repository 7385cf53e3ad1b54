"""What the page of a picture shows and says, and its buttons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from walkapp.actions.choice_words import CHOICE_WORDS
from walkapp.actions.copies import Copies
from walkapp.actions.marks import Marks
from walkapp.actions.reasons import UNDO
from walkapp.analysis.wording import moment_text
from walkapp.language import msg, tr, trn
from walkapp.model.ids import short_id
from walkapp.model.records import Photo, PictureMark, Record, Withdrawal
from walkapp.presenters.drawn import MarkView
from walkapp.presenters.picture_choice import PictureTile

READY_WORDS = (
    msg("crack"),
    msg("whitening"),
    msg("flash"),
    msg("burr"),
    msg("scratch"),
    msg("short shot"),
    msg("here"),
    msg("OK side"),
    msg("NOK side"),
)
"""Words that are offered to tap; no code asks for one of them."""

STEP = 1.25
"""By so much a mark gets larger or smaller at a tap."""

NAMES = CHOICE_WORDS["shape"]
CHANGES = {
    "arrow": msg("change of arrow"),
    "ring": msg("change of ring"),
    "line": msg("change of line"),
    "words": msg("change of text"),
}
HINTS = {
    "": msg("Choose a tool and draw on the picture. Tap a mark to change it."),
    "arrow": msg("Arrow: drag a finger to where it points, or tap there."),
    "ring": msg("Ring: drag a finger across what it goes around, or tap there."),
    "line": msg("Freehand: draw with a finger."),
    "words": msg("Text: choose the words first."),
}
PUT_WORDS = msg("Text: “{words}” is chosen; tap the picture where it belongs, or drag it there.")
CHOSEN = msg(
    "The framed mark is chosen: drag anywhere to move it, or tap a button. A tap beside it lets go."
)
CANNOT = {
    "larger": msg("This mark cannot be made larger."),
    "smaller": msg("This mark cannot be made smaller."),
}
REWORD = msg("Choose the words for the framed text.")
KEPT_APART = msg("The picture stays as it was taken; marks are kept apart from it.")
NOTHING_TO_DRAW_ON = msg("There is nothing to draw on: the picture is shown on the tablet that has it.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """A button of the page.

    Parameters
    ----------
    name
        What :meth:`MarkPage.press` is told.
    text, shape
        Its word and its shape.
    is_on
        Whether it is the one that is used now.
    is_off
        Whether it cannot be used now.
    """

    name: str
    text: str
    shape: str
    is_on: bool = False
    is_off: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkState:
    """Everything the page shows.

    Parameters
    ----------
    title, subtitle
        What the picture belongs to.
    problem
        What went wrong; empty when nothing did.
    saved
        What was last put on disk, in words; empty before that.
    undo
        What "undo" would undo, in words; empty when there is nothing.
    picture
        The picture without its marks; none until it is read, or when it cannot be shown.
    marks
        Its marks, which are on disk.
    pending
        What is being put on disk.
    chosen
        Key of the mark that is being changed; empty for none.
    is_freehand
        Whether a finger draws a line as it goes.
    tools
        The buttons.
    hint
        What a finger on the picture does now.
    facts
        Caption, when and where it was taken, and what is drawn, a line each.
    """

    title: str = ""
    subtitle: str = ""
    problem: str = ""
    saved: str = ""
    undo: str = ""
    picture: PictureTile | None = None
    marks: tuple[MarkView, ...] = ()
    pending: tuple[MarkView, ...] = ()
    chosen: str = ""
    is_freehand: bool = False
    tools: tuple[Tool, ...] = ()
    hint: str = ""
    facts: tuple[str, ...] = ()


def tools_of_drawing(now: str, *, is_off: bool) -> tuple[Tool, ...]:
    """Give what is drawn with, of which `now` is used, and the way on; nothing of it may be usable."""
    drawn = (
        ("arrow", tr("Arrow"), "arrow"),
        ("ring", tr("Ring"), "ellipse"),
        ("line", tr("Freehand"), "freehand"),
        ("words", tr("Text"), "letters"),
    )
    return (
        *(
            Tool(name=name, text=text, shape=shape, is_on=name == now, is_off=is_off)
            for name, text, shape in drawn
        ),
        Tool(name="cover", text=tr("Cover people"), shape="hatched", is_off=is_off),
    )


def tools_of_words(offered: Sequence[str], now: str) -> tuple[Tool, ...]:
    """Give the words that are offered, of which `now` is used; the ways on stand first, always in sight."""
    return (
        Tool(name="tools", text=tr("Back to the tools"), shape="backward"),
        Tool(name="type", text=tr("Type other words"), shape="letters"),
        *(
            Tool(
                name=f"word-{number}",
                text=words,
                shape="chosen" if words == now else "open",
                is_on=words == now,
            )
            for number, words in enumerate(offered)
        ),
    )


def tools_of_change(*, has_words: bool) -> tuple[Tool, ...]:
    """Give what can be done with a chosen mark."""
    reword = (Tool(name="reword", text=tr("Other words"), shape="letters"),)
    return (
        Tool(name="larger", text=tr("Larger"), shape="plus"),
        Tool(name="smaller", text=tr("Smaller"), shape="minus"),
        *(reword if has_words else ()),
        Tool(name="remove", text=tr("Take away"), shape="bad"),
        Tool(name="done", text=tr("Done"), shape="onward"),
    )


def saved_words(made: Record) -> str:
    """Say what was put on disk."""
    if made.why == UNDO:
        return tr("Taken back")
    return (
        tr("On disk: {entry}", entry=tr(NAMES[made.shape]))
        if isinstance(made, PictureMark)
        else tr("On disk: mark taken away")
    )


def undo_words(newest: Record | None) -> str:
    """Say in two or three words what "undo" would undo; empty for nothing."""
    match newest:
        case PictureMark(replaces=()):
            return tr(NAMES[newest.shape])
        case PictureMark():
            return tr(CHANGES[newest.shape])
        case Withdrawal():
            return tr("mark taken away")
        case _:
            return ""


def facts_lines(photo: Photo, copies: Copies | None, marks: Marks) -> tuple[str, ...]:
    """Say what a picture shows, when and by whom it was recorded, and what lies over it."""
    boxes = copies.boxes if copies else ()
    covered = (
        trn(
            "{count} place covered; marks lie over it.",
            "{count} places covered; marks lie over them.",
            len(boxes),
        )
        if boxes
        else ""
    )
    drawn = trn("{count} mark.", "{count} marks.", marks.total) if marks.total else ""
    if marks.total > len(marks.drawn):
        drawn = trn(
            "{drawn} of {count} mark drawn.",
            "{drawn} of {count} marks drawn.",
            marks.total,
            drawn=len(marks.drawn),
        )
    taken = tr(
        "{at}, {by}, tablet {device}", at=moment_text(photo.at), by=photo.by, device=short_id(photo.device)
    )
    caption = photo.caption
    if photo.invented:
        caption = tr("{what} (invented)", what=caption) if caption else tr("(invented)")
    return tuple(
        filter(None, (caption, tr("Recorded {taken}.", taken=taken), covered, drawn, tr(KEPT_APART)))
    )
