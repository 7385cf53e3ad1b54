"""What a page shows, gathered from its frozen state: every text in it that a person reads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any

FOR_PROGRAMS = frozenset({
    "id", "key", "mark", "marks", "tone", "shape", "style", "pattern", "chosen", "given", "ref", "limit",
    "version", "screen",
})  # fmt: skip
"""Fields that hold a name, a shape or a key in every state."""

FOR_PROGRAMS_IN = frozenset({
    "AnswerRow.station", "AnswerState.clean", "BoardButton.name", "ChangeOnLine.day", "ChangeOnLine.kind",
    "CharacteristicBlock.characteristic", "ConfirmationState.now_shape", "ConfirmationState.start_tone",
    "CountState.pad_for", "CountedDay.day", "FormField.form", "FormField.name", "FormState.ahead",
    "GalleryFilter.word", "GalleryState.order", "MeasuredColumn.station", "Pane.name", "ReviewRow.station",
    "Section.name", "StripTile.station", "TimeLine.bad_from_day", "TimeLine.first_bad_day",
    "TimeLine.last_good_day", "Tool.name", "TrialResultState.across", "TrialResultState.lines",
    "TrialRunState.pad_for", "TurnState.pad_for",
})  # fmt: skip
"""The same in one kind of state alone."""


def texts_of(state: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Give where each text that is shown stands in a state, and the text.

    Parameters
    ----------
    state
        A frozen state, or anything in one.
    path
        Where it stands.
    """
    if isinstance(state, str):
        yield path, state
    elif is_dataclass(state):
        yield from _of_fields(state, path)
    elif isinstance(state, tuple | list):
        for one in state:
            # Of a choice only the second text is shown; the first is the word that stands for it.
            yield from texts_of(one[1] if _is_choice(one, path) else one, path)
    elif isinstance(state, dict):
        yield from texts_of(tuple(state.values()), path)


def _of_fields(state: Any, path: str) -> Iterator[tuple[str, str]]:
    name = type(state).__name__
    for field in fields(state):
        where = f"{name}.{field.name}"
        if field.name in FOR_PROGRAMS or where in FOR_PROGRAMS_IN:
            continue
        if where == "FormField.value" and state.form == "choice":
            continue
        yield from texts_of(getattr(state, field.name), f"{path} {where}".strip())


def _is_choice(one: object, path: str) -> bool:
    is_pair = isinstance(one, tuple) and len(one) == 2 and all(isinstance(text, str) for text in one)
    return is_pair and path.endswith(("options", "choices", "folders", "reasons", "factors"))
