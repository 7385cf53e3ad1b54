"""Where else it could happen, and what was learned."""

from __future__ import annotations

from typing import ClassVar

from walkapp.errors import RecordError
from walkapp.model.records.base import Record
from walkapp.model.schema import choice, day, key, record_kind, text

READ_ACROSS = ("to_check", "clean", "affected", "fixed", "does_not_apply")
"""What is known of another station: nothing yet, not affected, affected, mended, or no such risk there."""


@record_kind
class ReadAcross(Record):
    """What is known of a like station of another line, product or stream."""

    kind: ClassVar[str] = "read_across"
    title: ClassVar[str] = "Read-across: like stations elsewhere, and what is known of them"

    other_stream: str = key("Id of the value stream of that station")
    other_station: str = key("Id of the station there")
    status: str = choice("What is known", READ_ACROSS)
    words: str = text("What was found there, or why it does not apply", longest=400, default="")
    owner: str = text("Role or initials of who sees to it, never a name", longest=40, default="")
    due_on: str = day("Until when", default="")

    def _check_together(self) -> None:
        if self.status != "to_check" and not self.words:
            raise RecordError("words is missing: say what was found there, or why it does not apply")


@record_kind
class Lesson(Record):
    """What was learned: a look back at how the team worked."""

    kind: ClassVar[str] = "lesson"
    title: ClassVar[str] = "Lessons: what worked, what did not, what to change in how we work"

    worked: str = text("What worked", longest=1000, default="")
    did_not_work: str = text("What did not work", longest=1000, default="")
    to_change: str = text("What to change in how we work", longest=1000, default="")

    def _check_together(self) -> None:
        if not (self.worked or self.did_not_work or self.to_change):
            raise RecordError("worked, did_not_work and to_change are all missing")
