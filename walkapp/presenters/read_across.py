"""Read-across: the like stations of all streams, and the form on which one is written about."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from walkapp.actions.days import today
from walkapp.actions.read_across import (
    SETTLED,
    STATUS_WORDS,
    Candidate,
    ReadAcrossFacts,
    read_across_of,
    record_no_like_station,
    record_read_across,
    source_text,
)
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import day_said, msg, tr, tr_choices, trn
from walkapp.model.records import ReadAcross, Record
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section, section_of
from walkapp.presenters.form import FormField, FormPage
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow

STATUS_MARKS = {
    "": "not_visited",
    "to_check": "undecided",
    "clean": "clean",
    "affected": "bad",
    "fixed": "clean",
    "does_not_apply": "not_applicable",
}
"""Shape of each status."""

STATION_KIND_WORDS = {
    "incoming": msg("incoming material"),
    "moulding": msg("moulding"),
    "trimming": msg("trimming"),
    "joining": msg("joining"),
    "assembly": msg("assembly"),
    "test": msg("test"),
    "packing": msg("packing"),
    "storage": msg("storage"),
    "transport": msg("transport"),
    "dock": msg("dock"),
    "other": msg("other kind of station"),
}
"""The kinds of stations, by the words of ``STATION_KINDS``."""

BY_HAND, NO_LIKE = "by-hand", "no-like"
"""What the form is about, in the place of stream and station, when it is about none of the list."""

ANOTHER = "another"
"""The choice of a stream that has no checklist here; no id, since it is no folder's name."""

WEEKS = (1, 2, 4)
MOST_OTHERS = 3
"""Other records of one station that a row tells."""


def read_across_row(place: Workplace, facts: ConcernFacts) -> ListRow:
    """Make the row of the concern's page."""
    found = read_across_of(place, facts)
    overdue = (
        trn("{count} station overdue. ", "{count} stations overdue. ", len(found.overdue))
        if found.overdue
        else ""
    )
    return ListRow(
        id="read_across",
        title=tr("Read-across: like stations elsewhere"),
        subtitle=f"{overdue}{found.why}",
        mark=mark_of(found),
    )


def mark_of(found: ReadAcrossFacts) -> str:
    """Give the shape of how the read-across stands."""
    if found.is_complete:
        return "clean"
    if found.overdue or any(one.status == "affected" for one in found.candidates):
        return "bad"
    return "undecided" if any(one.latest for one in found.candidates) else "not_visited"


class ReadAcrossPage(BoardPage):
    """Presents the like stations and what is known of each."""

    kinds = (ReadAcross,)

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        found = read_across_of(self.session.place, facts)
        return BoardState(
            title=tr("Read-across"),
            subtitle=facts.concern.what,
            mark=mark_of(found),
            sentence=found.why,
            lines=tuple(_about_origin(found)),
            sections=tuple(_sections(found)),
            buttons=(
                BoardButton(name=BY_HAND, text=tr("Add a station")),
                BoardButton(name=NO_LIKE, text=tr("No like station: say why"), is_off=found.origin is None),
            ),
        )

    def row(self, section: str, row: str) -> None:
        """Open the form for a station."""
        self.session.go(replace(self.route, screen="read_across_entry", entry=row))

    def press(self, button: str) -> None:
        """Open the form for a station that is not listed, or for the reason why there is none."""
        self.session.go(replace(self.route, screen="read_across_entry", entry=button))

    def _in_short(self, entry: Record) -> str:
        if not isinstance(entry, ReadAcross):
            return tr("entry")
        return f"{tr(STATUS_WORDS[entry.status])}, {entry.other_station}"


def _about_origin(found: ReadAcrossFacts) -> list[str]:
    if found.origin is None:
        return []
    values = {"station": found.origin.name, "kind": tr(STATION_KIND_WORDS[found.origin.kind])}
    if not found.is_named:
        like = tr(
            "Like {station} (the station of the corrective action): all of the kind “{kind}”.", **values
        )
    elif found.is_sure:
        like = tr("Like {station} (where the defect starts): all of the kind “{kind}”.", **values)
    else:
        like = tr(
            "Like {station} (where the defect most likely starts): all of the kind “{kind}”.", **values
        )
    lines = [like]
    if found.reason is not None:
        lines.append(tr("No like station elsewhere: {source}", source=source_text(found.reason)))
    return lines


def _sections(found: ReadAcrossFacts) -> list[Section]:
    parts = (
        ("overdue", tr("Overdue"), [one for one in found.candidates if one.is_overdue]),
        ("open", tr("Open"), [one for one in found.open if not one.is_overdue]),
        ("settled", tr("Done"), [one for one in found.candidates if one.is_settled]),
    )
    return [
        section_of(name, title, tuple(map(candidate_row, members)))
        for name, title, members in parts
        if members
    ]


def candidate_row(one: Candidate) -> ListRow:
    """Put a station into two lines."""
    said = tr(STATUS_WORDS[one.status])
    if one.latest is not None:
        is_awaited = one.latest.due_on and not one.is_settled
        due = tr("until {due_on}", due_on=day_said(one.latest.due_on)) if is_awaited else ""
        said = ", ".join(filter(None, (source_text(one.latest), one.latest.owner, due)))
    if one.is_overdue:
        said = tr("Overdue: {said}", said=said)
    others = [
        tr("Another record: {source}", source=source_text(other)) for other in one.others[:MOST_OTHERS]
    ]
    if (more := len(one.others) - MOST_OTHERS) > 0:
        others.append(trn("And {count} other record.", "And {count} other records.", more))
    by_hand = [] if one.is_like else [tr("Added by hand")]
    return ListRow(
        id=f"{one.stream}/{one.station}",
        title=f"{one.station_name}, {one.stream_name}",
        subtitle="\n".join((said, *others, *by_hand)),
        mark=STATUS_MARKS[one.status],
    )


class ReadAcrossForm(FormPage):
    """Records what is known of another station, or why there is none."""

    do = msg("Record this")
    is_in_walk = False
    _facts: ConcernFacts | None = None
    _found: ReadAcrossFacts | None = None
    _known: Candidate | None = None

    def _first_values(self) -> dict[str, str]:
        self._facts = concern_facts(self.session.place, self.route.concern)
        self._found = read_across_of(self.session.place, self._facts)
        where = self.route.entry
        self._known = next(
            (one for one in self._found.candidates if f"{one.stream}/{one.station}" == where), None
        )
        if where not in (BY_HAND, NO_LIKE) and self._known is None:
            raise InputError(tr("This station is no longer listed; go back and look at the list."))
        self.title = self._title()
        latest = self._known.latest if self._known else None
        return {"owner": latest.owner, "due_on": latest.due_on} if latest else {}

    def _title(self) -> str:
        if self._known is not None:
            return f"{self._known.station_name}, {self._known.stream_name}"
        return tr("Another station") if self.route.entry == BY_HAND else tr("No like station")

    def _so_far(self) -> str:
        if self._known is None or self._known.latest is None:
            return ""
        known = (self._known.latest, *self._known.others[:MOST_OTHERS])
        return "\n".join(tr("So far: {source}", source=source_text(record)) for record in known)

    def _fields(self) -> tuple[FormField, ...]:
        if self.route.entry == NO_LIKE:
            reason = FormField(
                name="words",
                label=tr("Why it can happen at no other station"),
                hint=tr("What was looked at, and why none is like it"),
                is_required=True,
                lines=3,
            )
            return (reason,)
        status = self._values.get("status", "")
        fields = [
            FormField(
                name="status",
                label=tr("What is known"),
                form="choice",
                options=tuple((word, said) for word, said in tr_choices(STATUS_WORDS.items()) if word),
                hint=self._so_far(),
                is_required=True,
            ),
            FormField(
                name="words",
                label=tr("Why it does not apply")
                if status == "does_not_apply"
                else tr("What was found there"),
                hint=tr("How many parts were looked at, and of which days or lots"),
                is_required=status not in ("", "to_check"),
                lines=2,
            ),
        ]
        if status not in SETTLED:
            fields += [
                FormField(
                    name="owner", label=tr("Who sees to it"), hint=tr("Role or initials, never a name")
                ),
                FormField(name="due_on", label=tr("Until"), form="day", options=self._days_to_come()),
            ]
        return (*self._where(), *fields)

    def _where(self) -> tuple[FormField, ...]:
        if self.route.entry != BY_HAND or self._found is None:
            return ()
        streams = self._found.streams
        chosen = streams.get(self._values.get("stream", ""))
        where = FormField(
            name="stream",
            label=tr("Value stream"),
            form="choice",
            options=(*((s.id, s.name) for s in streams.values()), (ANOTHER, tr("Another one"))),
            is_required=True,
        )
        if chosen is not None:
            stations = tuple((station.id, station.name) for station in chosen.stations)
            station = FormField(
                name="station", label=tr("Station"), form="choice", options=stations, is_required=True
            )
            return where, station
        if self._values.get("stream") != ANOTHER:
            return (where,)
        return (
            where,
            FormField(
                name="other_stream",
                label=tr("Its line or product"),
                hint=tr("For example line 7"),
                is_required=True,
            ),
            FormField(
                name="other_station",
                label=tr("Its station"),
                hint=tr("For example leak test 2"),
                is_required=True,
            ),
        )

    def _days_to_come(self) -> tuple[tuple[str, str], ...]:
        day = today(self.session.place)
        return tuple(
            (
                (day + timedelta(weeks=n)).isoformat(),
                tr("in {weeks}", weeks=trn("{count} week", "{count} weeks", n)),
            )
            for n in WEEKS
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts = concern_facts(self.session.place, self.route.concern)
        if self.route.entry == NO_LIKE:
            record_no_like_station(self.session.place, facts, values["words"])
        else:
            stream, station = self._chosen(values)
            record_read_across(
                self.session.place,
                facts,
                stream,
                station,
                status=values["status"],
                words=values["words"],
                owner=values.get("owner", ""),
                due_on=values.get("due_on", ""),
            )
        return self.route.up()

    def _chosen(self, values: Mapping[str, str]) -> tuple[str, str]:
        if self._known is not None:
            return self._known.stream, self._known.station
        if values["stream"] != ANOTHER:
            return values["stream"], values["station"]
        return as_id(values["other_stream"]), as_id(values["other_station"])


def as_id(words: str) -> str:
    """Make the id of a stream or station that no checklist here has from what it is called.

    Raises
    ------
    InputError
        If nothing of it can stand in an id.

    Examples
    --------
    >>> as_id("Line 7 (old hall)"), as_id("7 B")
    ('line-7-old-hall', 'x-7-b')
    """
    made = re.sub("[^a-z0-9]+", "-", words.casefold()).strip("-")
    if not made:
        raise InputError(
            tr(
                "“{words}” has no letter or digit that an id can have (a to z, 0 to 9): add one.",
                words=words,
            )
        )
    return (made if made[0].isalpha() else f"x-{made}")[:40].rstrip("-")
