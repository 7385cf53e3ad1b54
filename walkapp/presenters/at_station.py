"""The page that a station's label opens outside any walk: what there is to go on with at that station."""

from __future__ import annotations

from collections.abc import Iterator

from walkapp.actions.audits.reading import audited_streams
from walkapp.actions.audits.states import todays_audits
from walkapp.actions.reading import ConcernFacts, all_concerns, concern_facts
from walkapp.analysis.wording import moment_text
from walkapp.errors import ChecklistError, InputError
from walkapp.language import tr, trn
from walkapp.model.checklist import Stream
from walkapp.model.records import WalkStart
from walkapp.presenters.board import BoardPage, BoardState, Section, section_of
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow

MOST_WALKS = 2
"""Walks of a concern that are offered, the newest first; its own page has them all."""


class AtStationPage(BoardPage):
    """Presents the walks of this tablet that can go on at a station, and today's audits of its stream."""

    def row(self, section: str, row: str) -> None:
        """Go on with a walk at this station, open a concern, or open today's audits."""
        if section == "audits":
            self.session.go(Route(screen="audits"))
            return
        concern, _, walk = row.partition(" ")
        at = Route(screen="station", concern=concern, walk=walk, station=self.route.station)
        self.session.go(at if walk else Route(screen="concern", concern=concern))

    def _view(self) -> BoardState:
        place = self.session.place
        stream = self._stream()
        concerns = [
            facts
            for facts in (
                (concern_facts(place, self.route.concern),) if self.route.concern else all_concerns(place)
            )
            if facts.concern.stream == self.route.stream
        ]
        rows = [row for facts in concerns for row in self._rows(facts)]
        name = stream.name if stream else self.route.stream
        station = stream.station(self.route.station) if stream else None
        if stream is not None and station is None:
            raise InputError(
                tr(
                    "{stream} has no station {station} (any more); print the labels of its stations again.",
                    stream=stream.name,
                    station=repr(self.route.station),
                )
            )
        said = "" if rows else tr("No walk of this tablet goes on here; open a concern and begin one.")
        if stream is None and not concerns:
            said = tr("The value stream {stream} is not on this tablet.", stream=repr(self.route.stream))
        audits = tuple(self._audits(stream))
        return BoardState(
            title=f"{station.order}  {station.name}" if station else self.route.station,
            subtitle=name,
            sentence=said,
            sections=(
                *((section_of("walks", tr("Go on at this station"), rows),) if rows else ()),
                *audits,
            ),
        )

    def _stream(self) -> Stream | None:
        try:
            return self.session.place.streams().get(self.route.stream)
        except ChecklistError:
            return None  # home says what is wrong with the checklists; a walk has a copy of its own

    def _rows(self, facts: ConcernFacts) -> Iterator[ListRow]:
        own = [walk for walk in facts.walks if walk.device == self.session.place.store.device]
        offered = [walk for walk in own[::-1] if self._has_station(walk)][:MOST_WALKS]
        for walk in offered:
            yield ListRow(
                id=f"{facts.id} {walk.id}",
                title=facts.what,
                subtitle=tr("Walk of {at} by {by}", at=moment_text(walk.at), by=walk.by),
            )
        if not offered:
            yield ListRow(
                id=facts.id, title=facts.what, subtitle=tr("No walk of this tablet goes on here yet")
            )

    def _has_station(self, walk: WalkStart) -> bool:
        stream = self.session.place.kept_stream(walk.stream, walk.checklist)
        return stream is not None and stream.station(self.route.station) is not None

    def _audits(self, stream: Stream | None) -> Iterator[Section]:
        place = self.session.place
        if stream is None or all(one.id != stream.id for one in audited_streams(place)):
            return
        todo = sum(planned.can_be_done for planned in todays_audits(place, stream))
        row = ListRow(
            id="audits",
            title=tr("Today's audits"),
            subtitle=trn(
                "{count} audit of this stream to do now", "{count} audits of this stream to do now", todo
            ),
        )
        yield Section(name="audits", rows=(row,))
