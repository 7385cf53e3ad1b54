"""The station page: cautions first, then what there is to do here."""

from __future__ import annotations

from dataclasses import dataclass, replace

from walkapp.actions.reading import CheckProgress
from walkapp.language import day_said, msgn, tr, trn
from walkapp.model.checklist import Check, Station
from walkapp.model.records import ChangePoint, Note, Photo, Sample
from walkapp.presenters.escalation import station_caution
from walkapp.presenters.followed import to_come_row
from walkapp.presenters.frame import FrameState, Sight, WalkPage
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session

TALLIED = {
    Note: msgn("{count} note", "{count} notes"),
    ChangePoint: msgn("{count} change point", "{count} change points"),
    Photo: msgn("{count} photo", "{count} photos"),
}
"""What is counted of a station beside its checks, and in which words."""

SCREEN_OF = {
    "attribute": "judge",
    "question": "judge",
    "count": "count",
    "measurement": "measure",
    "setting": "measure",
    "photo": "photo",
}
"""The page on which each kind of check is answered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StationState:
    """Everything the station page shows.

    Parameters
    ----------
    frame
        What surrounds the page.
    cautions
        Cautions to confirm before the checks are shown; empty once they were confirmed.
    rows
        The checks: what to do, how far it is, and the shape for it: ``clean`` (done, nothing NOK),
        ``bad`` (NOK seen), ``undecided`` (begun) or ``not_visited``.
    sample
        Which lot the parts come from, or a request to say so.
    tally
        Notes, change points and photos recorded here, in words.
    followed
        The row that names followed parts still to be looked at here; none when there are none.
    escalation
        The caution of a safety-class concern while nobody was told, as a row that leads to recording it.
    """

    frame: FrameState = FrameState()
    cautions: tuple[str, ...] = ()
    rows: tuple[ListRow, ...] = ()
    sample: str = ""
    tally: str = ""
    escalation: tuple[ListRow, ...] = ()
    followed: tuple[ListRow, ...] = ()


class StationPage(WalkPage[StationState]):
    """Presents one station of a walk."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route, StationState())

    def confirm_cautions(self) -> None:
        """Record that the cautions of this station were read."""
        self._record(lambda _: self._walking.confirm_hazards(self.route.station))

    def choose_check(self, check: str) -> None:
        """Open a check."""
        found = self.station().check(check)
        if found is not None:
            self.session.go(replace(self.route, screen=SCREEN_OF[found.kind], check=check, unit=""))

    def add(self, screen: str) -> None:
        """Open the page that adds a ``note``, ``change``, ``sample`` or ``photo``."""
        self.session.go(replace(self.route, screen=screen, check=""))

    def to_judging(self) -> None:
        """Open the page that says how a part is judged; it leads back here."""
        self.session.go(self.route.down("judging"))

    def to_followed(self) -> None:
        """Open the page of the parts that are followed; it leads back here."""
        self.session.go(self.route.down("followed"))

    def escalate(self) -> None:
        """Open the page that records who was told; it leads back here."""
        self.session.go(self.route.down("escalation"))

    def _view(self, sight: Sight, frame: FrameState) -> StationState:
        station = self.station()
        walk = sight.walk
        escalation = station_caution(walk.facts)
        if station.hazards and station.id not in walk.hazards_read:
            return StationState(frame=frame, cautions=station.hazards, escalation=escalation)
        sample = walk.sample(station.id)
        records = walk.at_station(station.id)
        return StationState(
            frame=frame,
            rows=tuple(self._row(station, check, sight) for check in station.checks),
            escalation=escalation,
            followed=to_come_row(walk, station),
            sample=sample_text(sample),
            tally=", ".join(
                trn(*words, count)
                for kind, words in TALLIED.items()
                if (count := sum(isinstance(record, kind) for record in records))
            ),
        )

    def _row(self, station: Station, check: Check, sight: Sight) -> ListRow:
        progress = sight.walk.progress(station, check.id)
        mark, words = progress_words(check, progress)
        return ListRow(id=check.id, title=check.title, subtitle=words, mark=mark)


def progress_words(check: Check, progress: CheckProgress) -> tuple[str, str]:
    """Say how far a check is: the shape, and the words."""
    if progress.not_applicable:
        return "clean", tr("N/A: {reason}", reason=progress.not_applicable)
    if not progress.is_begun:
        if check.kind in ("attribute", "count", "measurement"):
            return "not_visited", trn("not begun, {count} part", "not begun, {count} parts", check.sample)
        return "not_visited", tr("not begun")
    match check.kind:
        case "attribute" | "count":
            done = tr(
                "{checked} of {sample} checked, {nok} NOK",
                checked=progress.checked,
                sample=check.sample,
                nok=progress.nok,
            )
            enough = progress.checked >= check.sample
        case "measurement":
            done = tr(
                "{checked} of {sample} measured, {nok} out of limits",
                checked=progress.checked,
                sample=check.sample,
                nok=progress.nok,
            )
            enough = progress.checked >= check.sample
        case "setting":
            done, enough = (
                (tr("out of the allowed range") if progress.nok else tr("in the allowed range")),
                True,
            )
        case "photo":
            done, enough = trn("{count} photo", "{count} photos", progress.checked), True
        case _:
            done, enough = (tr("NOK") if progress.nok else tr("OK")), True
    if progress.nok:
        return "bad", done
    return ("clean" if enough else "undecided"), done


def sample_text(sample: Sample | None) -> str:
    """Say where the parts at a station come from, or ask."""
    if sample is None:
        return tr("Which lot are the parts from?")
    if not sample.made_on:
        return tr("Parts: lot {lot}", lot=sample.lot)
    if not sample.lot:
        return tr("Parts: made on {made_on}", made_on=day_said(sample.made_on))
    return tr("Parts: lot {lot}, made on {made_on}", lot=sample.lot, made_on=day_said(sample.made_on))
