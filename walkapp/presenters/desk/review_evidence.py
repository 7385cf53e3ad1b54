"""What an answer stands on at one station: counts, single entries, and the pictures taken there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from walkapp.actions.disputes import entry_about, entry_value
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.review import filter_words, narrowed
from walkapp.actions.review_evidence import (
    EntryOrigin,
    StationEvidence,
    entry_of,
    entry_origins,
    station_evidence,
)
from walkapp.analysis.filtering import RecordFilter, unit_words
from walkapp.language import day_said, decimal_text, msg, tr, trn, whole_text
from walkapp.model.checklist import OUTSIDE_SHIFTS, Stream
from walkapp.model.records import Answer, Count, Measurement, Record
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.wording import ANSWER_WORDS, counts_text, moment_text, short_id

PAGE_ROWS = 20
"""Entries of one page of the list."""

LONGEST_BEFORE = 200
"""Letters of an earlier version that are told."""

MOST_GROUPS = 40
"""Rows of checks and tablets."""

ALL_PICTURES = msg("Pictures are those of all records, whatever part of them is looked at.")


class EvidencePage(BoardPage):
    """What the pages on evidence have in common: the concern, and the part of its records."""

    def _facts(self) -> tuple[ConcernFacts, ConcernFacts, str]:
        """Give the concern, the part of it that is looked at, and that part in words."""
        facts = concern_facts(self.session.place, self.route.concern)
        wanted = RecordFilter.from_text(self.route.filter)
        return facts, narrowed(facts, wanted), filter_words(wanted)


class ReviewStationPage(EvidencePage):
    """Presents what was judged at a station, by check and tablet."""

    def row(self, section: str, row: str) -> None:
        """Go to the entries of a check and tablet, to other entries, pictures, or the comparison."""
        match section:
            case "groups":
                tablet, _, check = row.partition(" ")
                to = self.route.down("review_entries", entry=tablet, check=check, number="")
            case "others":
                to = self.route.down("review_entries", entry="", check="", number="")
            case _:
                to = self.route.down(row)
        self.session.go(to)

    def _view(self) -> BoardState:
        facts, part, words = self._facts()
        here = station_evidence(part, self.route.station)
        photos = station_evidence(facts, self.route.station).photos
        groups = [
            ListRow(
                id=f"{group.tablet} {group.check}",
                title=f"{group.title}: {counts_text(group.nok, group.checked)}",
                subtitle=trn(
                    "tablet {tablet}, {count} entry",
                    "tablet {tablet}, {count} entries",
                    len(group.entries),
                    tablet=short_id(group.tablet),
                ),
                mark="bad" if group.nok else "clean",
            )
            for group in here.groups
        ]
        return BoardState(
            title=f"{here.station.order}  {here.station.name}",
            subtitle=facts.what,
            sentence=_station_sentence(here, words),
            lines=(tr("A part of the records: {words} only.", words=words),) if words else (),
            sections=(
                Section(
                    name="groups",
                    title=tr("By check and tablet"),
                    words=_groups_words(len(groups)),
                    rows=tuple(groups[:MOST_GROUPS]),
                ),
                Section(name="more", title=tr("Beside them"), rows=_more_rows(len(photos))),
                Section(name="others", rows=_others_rows(here)),
            ),
            notes=(tr(ALL_PICTURES),) if words else (),
        )


def _groups_words(groups: int) -> str:
    if groups > MOST_GROUPS:
        return tr(
            "The first {most_groups} of {groups}; look at one tablet alone to see the others.",
            most_groups=MOST_GROUPS,
            groups=whole_text(groups),
        )
    return "" if groups else tr("No part that counts was judged here.")


def _station_sentence(here: StationEvidence, words: str) -> str:
    if not here.checked:
        return tr("No part judged here counts for the answer.")
    nok, tablets = counts_text(here.nok, here.checked), len(here.tablets)
    if words:
        return trn(
            "{nok}, judged on {count} tablet in this part.",
            "{nok}, judged on {count} tablets in this part.",
            tablets,
            nok=nok,
        )
    return trn("{nok}, judged on {count} tablet.", "{nok}, judged on {count} tablets.", tablets, nok=nok)


def _more_rows(photos: int) -> tuple[ListRow, ...]:
    return (
        ListRow(
            id="gallery" if photos else "",
            title=trn("{count} picture", "{count} pictures", photos) if photos else tr("No picture"),
            subtitle=tr("Taken at this station; places that were covered stay covered."),
        ),
        ListRow(
            id="detail",
            title=tr("Units compared, values measured"),
            subtitle=tr("Of all records: whether one cavity, fixture or walk differs from the rest."),
        ),
    )


def _others_rows(here: StationEvidence) -> tuple[ListRow, ...]:
    if not here.others:
        return ()
    return (
        ListRow(
            id="others",
            title=trn(
                "{count} entry not counted for the answer",
                "{count} entries not counted for the answer",
                len(here.others),
            ),
            subtitle=tr(
                "Questions, settings, notes, change points, lots, what does not fit the checklist."
            ),
        ),
    )


class ReviewEntriesPage(EvidencePage):
    """Presents the entries of one check and tablet, or those that do not count, page by page."""

    def row(self, section: str, row: str) -> None:
        """Look at one entry."""
        self.session.go(self.route.down("review_entry", entry=row, layer=self.route.entry))

    def press(self, button: str) -> None:
        """Turn to newer or older entries."""
        page = _page_number(self.route) + (1 if button == "older" else -1)
        self.session.go(replace(self.route, number=str(max(page, 1))))

    def _view(self) -> BoardState:
        facts, part, words = self._facts()
        here = station_evidence(part, self.route.station)
        group = here.group(self.route.check, self.route.entry)
        records = tuple(one.record for one in group.entries) if group else ()
        title = f"{group.title}: {counts_text(group.nok, group.checked)}" if group else ""
        if not self.route.check:
            records, title = here.others, tr("Not counted for the answer")
        pages = max(1, -(-len(records) // PAGE_ROWS))
        page = min(_page_number(self.route), pages)
        shown = records[(page - 1) * PAGE_ROWS : page * PAGE_ROWS]
        nok = {one.record.id: one.nok for one in group.entries} if group else {}
        rows = tuple(
            entry_row(origin, part.stream, nok.get(origin.record.id))
            for origin in entry_origins(facts, shown)
        )
        tablet = tr("tablet {entry}", entry=short_id(self.route.entry)) if self.route.entry else ""
        buttons = (
            BoardButton(name="newer", text=tr("Newer"), is_off=page == 1),
            BoardButton(name="older", text=tr("Older"), is_off=page == pages),
        )
        return BoardState(
            title=title or tr("Entries"),
            subtitle=", ".join(filter(None, (f"{here.station.order}  {here.station.name}", tablet))),
            sentence="" if records else tr("No such entry is in this part of the records."),
            lines=tuple(
                filter(
                    None,
                    (
                        tr("A part of the records: {words} only.", words=words) if words else "",
                        trn(
                            "{count} entry; page {page} of {pages}.",
                            "{count} entries, the newest first; page {page} of {pages}.",
                            len(records),
                            page=page,
                            pages=pages,
                        )
                        if records
                        else "",
                    ),
                )
            ),
            sections=(Section(name="entries", rows=rows),),
            buttons=buttons if pages > 1 else (),
        )


def _page_number(route: Route) -> int:
    number = route.number
    return int(number) if number.isascii() and number.isdigit() and 0 < len(number) <= 6 else 1


def entry_row(origin: EntryOrigin, stream: Stream | None, nok: int | None) -> ListRow:
    """Put an entry into two lines."""
    record = origin.record
    mark = "" if nok is None else "bad" if nok else "clean"
    title = entry_words(record, nok) if nok is not None else entry_about(record, stream)
    return ListRow(id=record.id, title=title, subtitle=", ".join(origin_words(origin)), mark=mark)


def entry_words(record: Record, nok: int) -> str:
    """Say what an entry about parts says."""
    match record:
        case Answer():
            return tr(ANSWER_WORDS[record.answer])
        case Count():
            return counts_text(record.nok, record.checked)
        case Measurement():
            value = f"{decimal_text(record.value)} {record.unit_of_measure}"
            return tr("{value}, out of limits", value=value) if nok else value
        case _:
            return entry_value(record)


def origin_words(origin: EntryOrigin) -> Iterator[str]:
    """Say when, by whom and where an entry was made, and what is known of its parts."""
    record = origin.record
    yield moment_text(record.at)
    yield record.by
    yield tr("tablet {device}, number {number}", device=short_id(record.device), number=record.number)
    if origin.shift:
        is_outside = origin.shift == OUTSIDE_SHIFTS
        yield tr(OUTSIDE_SHIFTS) if is_outside else tr("shift {shift}", shift=origin.shift)
    if origin.unit:
        yield unit_words(origin.unit)
    if part := getattr(record, "part", ""):
        yield tr("part {part}", part=part)
    if origin.lot:
        yield tr("lot {lot}", lot=origin.lot)
    if origin.made_on:
        yield tr("made {made_on}", made_on=day_said(origin.made_on))
    if origin.before:
        yield tr("corrected")


class ReviewEntryPage(EvidencePage):
    """Presents one entry: what it says, where it comes from, and what was said before."""

    def back(self) -> None:
        """Go back to the entries of its check and tablet."""
        self.session.go(replace(self.route.up(), entry=self.route.layer, layer=""))

    def row(self, section: str, row: str) -> None:
        """Go to the pictures of the station."""
        self.session.go(self.route.down(row))

    def _view(self) -> BoardState:
        facts, _, _ = self._facts()
        record = entry_of(facts, self.route.entry)
        (origin,) = entry_origins(facts, (record,))
        here = station_evidence(facts, self.route.station)
        photos = [photo for photo in here.photos if photo.walk == record.walk]
        before = "\n".join(
            tr(
                "{at}, {by}, tablet {device}: {short}",
                at=moment_text(old.at),
                by=old.by,
                device=short_id(old.device),
                short=_short(entry_value(old)),
            )
            for old in origin.before
        )
        sections = [Section(name="more", rows=(_more_rows(len(here.photos))[0],))]
        if before:
            sections.insert(0, Section(name="before", title=tr("What it replaces"), words=before))
        return BoardState(
            title=entry_about(record, facts.stream),
            subtitle=facts.what,
            sentence=entry_value(record),
            lines=tuple(
                filter(
                    None,
                    (
                        ", ".join(origin_words(origin)),
                        tr("Why it was corrected: {why}", why=record.why) if record.why else "",
                        trn(
                            "{count} picture taken here in the same walk.",
                            "{count} pictures taken here in the same walk.",
                            len(photos),
                        )
                        if photos
                        else "",
                    ),
                )
            ),
            sections=tuple(sections),
        )


def _short(words: str) -> str:
    return words if len(words) <= LONGEST_BEFORE else f"{words[:LONGEST_BEFORE]} ..."
