"""Everything that is recorded of one change, and how far it is suspected."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from walkapp.actions.changes import find_change, may_be_taken_back, take_back_change
from walkapp.actions.onset import DatedOnset, date_onset
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.reasons import said_reason
from walkapp.analysis.suspects import Suspect
from walkapp.language import day_said, msg, tr
from walkapp.model.records import ChangePoint
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.change_words import CHANGE_WORDS
from walkapp.presenters.onset import TIMING_MARKS
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.wording import moment_text, percent, short_id

NOT_RECORDED = msg("not recorded")

NOT_TOLD = msg("The customer was not told of this change.")

CUSTOMER_TOLD = {
    "yes": msg("Customer told: yes"),
    "no": msg("Customer told: no"),
    "unknown": msg("Customer told: not known"),
}


class ChangePointPage(BoardPage):
    """Presents one change point; leads to its correction."""

    def undo(self) -> None:
        """Take this change point back and go to the list, or take its newest correction back and stay."""
        place = self.session.place

        def run() -> Route:
            point = find_change(place, concern_facts(place, self.route.concern), self.route.entry)
            after = take_back_change(place, point)
            return self.route if isinstance(after, ChangePoint) else self.route.up()

        self.session.run_later(run, self.session.go, self.fail)

    def row(self, section: str, row: str) -> None:
        """Open the record of the same change that another tablet made."""
        self.session.go(replace(self.route, entry=row))

    def press(self, button: str) -> None:
        """Open the form for a correction."""
        self.session.go(replace(self.route, screen="correct_change"))

    def _view(self) -> BoardState:
        place = self.session.place
        facts = concern_facts(place, self.route.concern)
        point = find_change(place, facts, self.route.entry)
        station = facts.stream.station(point.station) if facts.stream else None
        can_undo = may_be_taken_back(point, place.store.device)
        return replace(
            _suspicion(facts, point),
            title=tr("Change point"),
            subtitle=", ".join(
                (tr(dict(CHANGE_WORDS)[point.change]), station.name if station else point.station)
            ),
            cautions=(tr(NOT_TOLD),) if point.customer_told == "no" else (),
            sentence=point.what,
            lines=tuple(_lines(point)),
            buttons=(BoardButton(name="correct", text=tr("Correct"), tone="strong"),),
            can_undo=can_undo,
            undo=(tr("correction") if point.replaces else tr("change point")) if can_undo else "",
        )


def _lines(point: ChangePoint) -> Iterator[str]:
    yield tr("When: {day}", day=day_said(point.changed_on) or tr("not known"))
    yield tr("Why: {what}", what=point.reason or tr(NOT_RECORDED))
    yield tr("Meant to: {what}", what=point.meant_to or tr(NOT_RECORDED))
    yield tr("Approved by: {what}", what=point.approved_by or tr(NOT_RECORDED))
    yield tr(CUSTOMER_TOLD[point.customer_told])
    where = tr("on a walk") if point.walk else tr("outside a walk")
    yield tr(
        "Recorded by {by}, {at}, {where}, tablet {device}",
        by=point.by,
        at=moment_text(point.at),
        where=where,
        device=short_id(point.device),
    )
    if point.replaces:
        yield tr("Corrected: {why}", why=said_reason(point.why))


def _suspicion(facts: ConcernFacts, point: ChangePoint) -> BoardState:
    """Say how far the change is suspected, and which other records tell of it."""
    if facts.stream is None:
        return BoardState(
            notes=(tr("The checklist is not here, so it is not said how far it is suspected."),)
        )
    found = date_onset(facts)
    key = next(key for key, same in found.changes.items() if point in same)
    suspect = next((s for s in found.ranking.suspects if s.change.id == key), None)
    if suspect is None:
        return BoardState(notes=(tr("The checklist does not have its station, so it is not ranked."),))
    others = tuple(
        ListRow(
            id=other.id,
            title=other.what,
            subtitle=tr(
                "Recorded by {by}, {at}, tablet {device}",
                by=other.by,
                at=moment_text(other.at),
                device=short_id(other.device),
            ),
        )
        for other in found.changes[key]
        if other != point
    )
    same = Section(
        name="same",
        title=tr("The same change, recorded on another tablet"),
        words=tr("Counted once among the suspects. If it was another change, correct one of them."),
        rows=others,
    )
    return BoardState(
        mark=TIMING_MARKS[suspect.timing],
        sections=(_as_suspect(found, suspect), *((same,) if others else ())),
    )


def _as_suspect(found: DatedOnset, suspect: Suspect) -> Section:
    number = found.ranking.suspects.index(suspect) + 1
    return Section(
        name="suspicion",
        title=tr(
            "Suspect {number} of {suspects}: {probability}",
            number=number,
            suspects=len(found.ranking.suspects),
            probability=percent(suspect.probability),
        ),
        words=suspect.why,
    )
