"""The blind reading: which part to take, OK or NOK, and nothing that gives an answer away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from walkapp.actions.studies import StudyFacts, Turn, read_part, study_facts, undo_reading
from walkapp.errors import WalkappError
from walkapp.language import tr, trn
from walkapp.model.records import Record, StudyReading, Withdrawal
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.studies import study_title
from walkapp.presenters.wording import how_text


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingState:
    """Everything the blind reading shows.

    Parameters
    ----------
    title
        Who judges.
    subtitle
        What is judged.
    part
        Which part to take, in words; empty when there is none left.
    how
        How a part is judged.
    progress
        How far the inspector is, in words.
    repeat
        Said when the parts come once more.
    done
        What to do when all parts are judged; empty before that.
    undo
        Which part "undo" takes back, in words, without what was said of it; empty for none.
    saved
        What was last put on disk, in words, without what was said of it.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    subtitle: str = ""
    part: str = ""
    how: str = ""
    progress: str = ""
    repeat: str = ""
    done: str = ""
    undo: str = ""
    saved: str = ""
    problem: str = ""


class ReadingPage(Observed[ReadingState]):
    """Presents one part after the other to an inspector."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(ReadingState())
        self.session = session
        self.route = route
        self._turn: Turn | None = None

    def open(self) -> None:
        """Show the part at which the inspector stopped."""
        self._later(lambda _: None)

    def answer(self, word: str) -> None:
        """Record ``ok`` or ``not_ok`` for the part that is shown.

        A second tap that comes before the next part is shown was meant for this one and counts nothing.
        """
        shown = self._turn

        def entry(now: StudyFacts) -> Record | None:
            if shown is None or now.next_turn(self.route.inspector) != shown:
                return None
            return read_part(self.session.place, now, self.route.inspector, shown, word)

        self._later(entry)

    def undo(self) -> None:
        """Take back the newest reading of this inspector on this tablet; its part comes again."""
        self._later(lambda now: undo_reading(self.session.place, now, self.route.inspector))

    def back(self) -> None:
        """Go back to the study; every reading is on disk."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error)))

    def _look(self) -> StudyFacts:
        return study_facts(self.session.place, self.route.concern, self.route.study)

    def _later(self, work: Callable[[StudyFacts], Record | None]) -> None:
        def run() -> tuple[Turn | None, ReadingState]:
            made = work(self._look())
            now = self._look()
            turn = now.next_turn(self.route.inspector)
            return turn, self._view(now, turn, made)

        def done(found: tuple[Turn | None, ReadingState]) -> None:
            self._turn, state = found
            self._show(state)

        self.session.run_later(run, done, self.fail)

    def _view(self, now: StudyFacts, turn: Turn | None, made: Record | None) -> ReadingState:
        inspector = self.route.inspector
        last = now.undoable(inspector, self.session.place.store.device)
        common = ReadingState(
            title=inspector,
            subtitle=study_title(now),
            undo=tr("Part {part}", part=last.part) if last else "",
            saved=_saved_text(made),
        )
        if turn is None:
            return replace(
                common,
                done=trn(
                    "The {count} reading is on disk. Thank you. Hand the tablet back.",
                    "All {count} readings are on disk. Thank you. Hand the tablet back.",
                    now.looks,
                ),
            )
        repeats, stream = now.study.repeats, now.facts.stream
        is_first_again = turn.repeat > 1 and (turn.number - 1) % len(now.parts) == 0
        return replace(
            common,
            part=tr("Take part {part}", part=turn.part),
            how=how_text(now.check, stream, now.facts.concern) if now.check and stream else "",
            progress=tr(
                "Reading {number} of {looks}, repeat {repeat} of {repeats}",
                number=turn.number,
                looks=now.looks,
                repeat=turn.repeat,
                repeats=repeats,
            )
            if repeats > 1
            else tr("Reading {number} of {looks}", number=turn.number, looks=now.looks),
            repeat=tr("All parts come once more, in another order.") if is_first_again else "",
        )


def _saved_text(made: Record | None) -> str:
    match made:
        case StudyReading():
            return tr("On disk: part {part}", part=made.part)
        case Withdrawal():
            return tr("Taken back")
        case _:
            return ""
