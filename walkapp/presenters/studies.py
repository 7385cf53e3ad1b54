"""The inspection studies of a concern, and who judges the parts of one."""

from __future__ import annotations

from dataclasses import dataclass, replace

from walkapp.actions.reading import concern_facts
from walkapp.actions.studies import StudyFacts, studies_of, study_facts
from walkapp.errors import WalkappError
from walkapp.language import day_said, msg, tr, tr_each, trn
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.wording import parts_in_words

STUDY_CAUTIONS = (
    msg("Who knows the answers must not be an inspector."),
    msg("Keep the list of answers out of sight, and cover labels while parts are judged."),
    msg("Judge as on the line: the same light, the same time, the same standard."),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class StudiesState:
    """Everything the list of studies shows.

    Parameters
    ----------
    title
        The concern.
    rows
        The studies, newest first.
    is_empty
        Whether there is no study yet.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    rows: tuple[ListRow, ...] = ()
    is_empty: bool = False
    problem: str = ""


class StudiesPage(Observed[StudiesState]):
    """Presents the inspection studies of a concern."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(StudiesState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Read the studies."""

        def run() -> StudiesState:
            facts = concern_facts(self.session.place, self.route.concern)
            rows = tuple(study_row(study) for study in studies_of(facts))
            return StudiesState(title=facts.concern.what, rows=rows, is_empty=not rows)

        self.session.run_later(run, self._show, self.fail)

    def choose(self, study: str) -> None:
        """Open a study."""
        self.session.go(replace(self.route, screen="study", study=study))

    def new_study(self) -> None:
        """Open the form for a new study."""
        self.session.go(replace(self.route, screen="new_study"))

    def back(self) -> None:
        """Go back to the concern."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error)))


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyState:
    """Everything the page of one study shows; nothing that tells an answer.

    Parameters
    ----------
    title
        What is studied.
    facts
        Size, day and person.
    cautions
        What makes a study worth nothing if it is not kept.
    rows
        The inspectors who have begun, and how far they are; those who are not through lead on.
    how_far
        Readings taken, in words.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    facts: str = ""
    cautions: tuple[str, ...] = ()
    rows: tuple[ListRow, ...] = ()
    how_far: str = ""
    problem: str = ""


class StudyPage(Observed[StudyState]):
    """Presents one study: who judges next."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(StudyState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Read the study."""

        def run() -> StudyState:
            return study_state(study_facts(self.session.place, self.route.concern, self.route.study))

        self.session.run_later(run, self._show, self.fail)

    def new_inspector(self) -> None:
        """Ask who judges the parts next."""
        self.session.go(replace(self.route, screen="inspector"))

    def continue_as(self, inspector: str) -> None:
        """Let an inspector go on where they stopped."""
        self.session.go(replace(self.route, screen="reading", inspector=inspector))

    def to_result(self) -> None:
        """Go to what the study says."""
        self.session.go(replace(self.route, screen="study_result"))

    def back(self) -> None:
        """Go back to the list of studies."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error)))


def study_title(now: StudyFacts) -> str:
    """Name what a study is about."""
    station = now.station.name if now.station else now.study.station
    return f"{station}: {now.check.title if now.check else now.study.check}"


def size_text(now: StudyFacts) -> str:
    """Say how large a study is; not how many parts are bad, which an inspector could count along."""
    size = ", ".join(
        (parts_in_words(len(now.parts)), trn("{count} repeat", "{count} repeats", now.study.repeats))
    )
    return tr("{what}, invented for the demo", what=size) if now.study.invented else size


def how_far_text(now: StudyFacts) -> str:
    """Say how many readings of those begun were taken."""
    if not now.inspectors:
        return tr("not begun")
    return tr(
        "{readings} of {looks} readings", readings=len(now.readings), looks=now.looks * len(now.inspectors)
    )


def study_row(now: StudyFacts) -> ListRow:
    """Put a study into two lines."""
    words, mark = how_far_text(now), "undecided" if now.inspectors else "not_visited"
    if now.is_finished:
        words, mark = (tr("usable"), "clean") if now.result.is_usable else (tr("not usable"), "bad")
    if now.chosen and now.chosen.study == now.study.id:
        words = tr("{words}, its rates count", words=words)
    return ListRow(
        id=now.study.id,
        title=study_title(now),
        subtitle=f"{day_said(now.study.at[:10])}, {size_text(now)}: {words}",
        mark=mark,
    )


def study_state(now: StudyFacts) -> StudyState:
    """Put a study into words."""
    return StudyState(
        title=study_title(now),
        facts=tr(
            "{size}, opened by {by} on {at}",
            size=size_text(now),
            by=now.study.by,
            at=day_said(now.study.at[:10]),
        ),
        cautions=tr_each(STUDY_CAUTIONS),
        rows=tuple(_inspector_row(now, inspector) for inspector in now.inspectors),
        how_far=how_far_text(now),
    )


def _inspector_row(now: StudyFacts, inspector: str) -> ListRow:
    done = now.done(inspector)
    is_through = done == now.looks
    return ListRow(
        id="" if is_through else inspector,
        title=inspector,
        subtitle=trn(
            "{done} of {count} reading, through",
            "{done} of {count} readings, through",
            now.looks,
            done=done,
        )
        if is_through
        else trn(
            "{done} of {count} reading, tap to go on",
            "{done} of {count} readings, tap to go on",
            now.looks,
            done=done,
        ),
        mark="clean" if is_through else "undecided",
    )
