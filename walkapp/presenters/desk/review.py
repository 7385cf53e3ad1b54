"""Reviewing concerns at the desk: the list, the answer station by station, and which records it is of."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from walkapp.actions.days import day_of
from walkapp.actions.reading import ConcernFacts, all_concerns, concern_facts
from walkapp.actions.review import FilterValue, Review, filter_values, filter_words, judged_parts, review
from walkapp.actions.review_evidence import StationEvidence, evidence_by_station
from walkapp.analysis.filtering import RecordFilter
from walkapp.analysis.results import StationVerdict
from walkapp.errors import InputError
from walkapp.language import day_said, msg, tr, trn
from walkapp.presenters.answer import next_text, plain_rule_text
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, section_of
from walkapp.presenters.disputes import disagreeing_text
from walkapp.presenters.escalation import CAUTION
from walkapp.presenters.form import FormField, FormPage
from walkapp.presenters.home import finding_mark, finding_text
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.wording import (
    VERDICT_MARKS,
    counts_text,
    parts_in_words,
    percent,
    share_range,
)

MOST_OFFERED = 12
"""Values of one kind that are offered to tap; a day can be typed beside them."""

DAY_SAID = msg(
    "A day and a shift are those on which parts were judged, by the local time of the entry; "
    "not those on which the parts were made. An entry that was corrected counts with its "
    "correction: tablet, day and shift are those of the correction."
)
ALL_STAYS = msg(
    "What is known of the concern stays in a part of the records: weights, rates of the "
    "checks, fixes. Parts of which the unit was not recorded are left out where one unit is "
    "chosen."
)


def reviewed_row(facts: ConcernFacts) -> ListRow:
    """Put a concern under review into two lines."""
    answer = facts.quick_answer
    judged = judged_parts(facts)
    tablets = {walk.device for walk in facts.walks} | {one.record.device for one in judged}
    told = (
        finding_text(answer),
        trn("{count} part judged", "{count} parts judged", sum(one.checked for one in judged))
        if facts.stream
        else "",
        trn("{count} walk", "{count} walks", len(facts.walks)),
        trn("{count} tablet", "{count} tablets", len(tablets)),
        _disagreeing(facts),
        tr("safety class, nobody was told yet") if facts.needs_escalation else "",
    )
    return ListRow(
        id=facts.id,
        title=facts.what,
        subtitle=", ".join(filter(None, told)),
        mark=finding_mark(answer),
    )


def _disagreeing(facts: ConcernFacts) -> str:
    count = len(facts.conflicts)
    return disagreeing_text(count) if count else ""


class ReviewsPage(BoardPage):
    """Presents all concerns with what is known of each."""

    def row(self, section: str, row: str) -> None:
        """Review a concern."""
        self.session.go(self.route.down("review", concern=row))

    def _view(self) -> BoardState:
        rows = [reviewed_row(facts) for facts in all_concerns(self.session.place)]
        return BoardState(
            title=tr("Under review"),
            subtitle=tr("All concerns, the newest first."),
            sentence="" if rows else tr("No concern is here yet: merge the bundles of the tablets."),
            sections=(section_of("concerns", "", rows),),
        )


def review_row(facts: ConcernFacts) -> ListRow:
    """Give the row that leads from a concern's page to its review."""
    tablets = {one.record.device for one in judged_parts(facts)}
    return ListRow(
        id="review",
        title=tr("Review"),
        subtitle=trn(
            "Station by station down to the single entry: {count} tablet.",
            "Station by station down to the single entry: {count} tablets.",
            len(tablets),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewRow:
    """One station in the table.

    Parameters
    ----------
    station
        Its id.
    name, verdict
        Number and name, and the verdict in words.
    mark
        Shape of the verdict.
    counts, share
        NOK of checked; the exact interval of the share, in words.
    origin
        Probability that the defect starts here, in words.
    evidence
        What it stands on: entries, tablets, pictures.
    whole
        Counts of all records, where only a part of them is looked at; else empty.
    is_named
        Whether this is the (most likely) first bad station.
    """

    station: str
    name: str
    verdict: str
    mark: str
    counts: str
    share: str
    origin: str
    evidence: str
    whole: str
    is_named: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewState(BoardState):
    """Everything the review of a concern shows.

    Parameters
    ----------
    table
        One row a station, in stream order.
    part
        Which part of the records it is of; empty for all of them.
    """

    table: tuple[ReviewRow, ...] = ()
    part: str = ""


class ReviewPage(BoardPage):
    """Presents where the defect of a concern starts, and what that stands on."""

    screen = "review"

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route)
        self._state = ReviewState(title=tr("Review"))

    def to_station(self, station: str) -> None:
        """Go to what is known of a station."""
        self.session.go(self.route.down("review_station", station=station))

    def press(self, button: str) -> None:
        """Choose a part of the records, look at all of them again, or see what disagrees."""
        if button == "all":
            self.session.go(replace(self.route, filter=""))
        else:
            self.session.go(self.route.down(button))

    def _view(self) -> BoardState:
        facts = concern_facts(self.session.place, self.route.concern)
        found = review(facts, RecordFilter.from_text(self.route.filter))
        return review_state(facts, found)


def review_state(facts: ConcernFacts, found: Review) -> ReviewState:
    """Put the review of a concern into words."""
    answer = found.answer
    evidence = evidence_by_station(found.facts)
    is_part = not found.wanted.is_empty
    buttons = [BoardButton(name="review_filter", text=tr("Look at a part"), tone="strong")]
    if is_part:
        buttons.append(BoardButton(name="all", text=tr("All records")))
    if facts.conflicts:
        buttons.append(BoardButton(name="disputes", text=_disagreeing(facts)))
    sentence = answer.sentence
    if is_part and not found.parts:
        sentence = tr("No part is left: choose another part of the records.")
    lines = () if is_part and not found.parts else (plain_rule_text(answer), next_text(answer))
    return ReviewState(
        title=tr("Review"),
        subtitle=facts.what,
        cautions=tuple(filter(None, (tr(CAUTION) if facts.needs_escalation else "", found.differs))),
        part=found.part_words,
        mark=finding_mark(answer),
        sentence=sentence,
        lines=tuple(filter(None, (found.whole_words, *lines))),
        table=tuple(
            review_table_row(verdict, whole, here, named=answer.first_bad_station, is_part=is_part)
            for verdict, whole, here in zip(answer.stations, found.whole.stations, evidence, strict=True)
        ),
        notes=(
            *(tr("Mind: {words}", words=words) for words in answer.warnings),
            tr(
                "Not present in this stream: {none_probability}.",
                none_probability=percent(answer.none_probability),
            ),
            tr("Intervals are exact (Clopper-Pearson, 95 %, two-sided)."),
            *((tr(DAY_SAID), tr(ALL_STAYS)) if is_part else ()),
        ),
        buttons=tuple(buttons),
    )


def review_table_row(
    verdict: StationVerdict,
    whole: StationVerdict,
    here: StationEvidence,
    *,
    named: str | None,
    is_part: bool,
) -> ReviewRow:
    """Put one station into the table."""
    interval = verdict.interval
    share = (
        tr("NOK share {low}", low=share_range(interval.low, interval.high)) if interval is not None else ""
    )
    entries = sum(len(group.entries) for group in here.groups)
    evidence = (
        trn("{count} entry", "{count} entries", entries) if entries else "",
        trn("{count} tablet", "{count} tablets", len(here.tablets)) if entries else "",
        trn("{count} picture", "{count} pictures", len(here.photos)) if here.photos else "",
        trn("{count} other entry", "{count} other entries", len(here.others)) if here.others else "",
    )
    words, is_named = tr(verdict.verdict), named == verdict.station
    return ReviewRow(
        station=here.station.id,
        name=f"{verdict.order}  {verdict.station}",
        verdict=tr("{verdict}: first bad station", verdict=words) if is_named else words,
        mark=VERDICT_MARKS[verdict.verdict],
        counts=counts_text(verdict.nok, verdict.checked) or tr("none checked"),
        share=share,
        origin=tr(
            "starts here {probability_origin}", probability_origin=percent(verdict.probability_origin)
        ),
        evidence=", ".join(filter(None, evidence)) or tr("nothing recorded"),
        whole=tr("all: {counts}", counts=counts_text(whole.nok, whole.checked) or tr("none checked"))
        if is_part
        else "",
        is_named=is_named,
    )


class ReviewFilterForm(FormPage):
    """Chooses which part of the records is looked at, from the values that occur."""

    title = msg("Which part of the records?")
    do = msg("Look at this part")
    is_in_walk = False

    def _first_values(self) -> dict[str, str]:
        facts = concern_facts(self.session.place, self.route.concern)
        self._found = filter_values(facts)
        self._what = facts.what
        wanted = RecordFilter.from_text(self.route.filter)
        return {name: getattr(wanted, name) for name in ("since", "until", "shift", "tablet", "unit")}

    def _words(self) -> tuple[str, ...]:
        return self._what, tr(DAY_SAID)

    def _fields(self) -> tuple[FormField, ...]:
        found = self._found
        fields = [
            _day_field("since", tr("Judged from"), found.days[:MOST_OFFERED]),
            _day_field("until", tr("Judged until"), found.days[-MOST_OFFERED:]),
        ]
        for name, label, every, values in (
            ("tablet", tr("Tablet"), tr("every tablet"), found.tablets),
            ("unit", tr("Cavity, fixture or machine"), tr("every one"), found.units),
            ("shift", tr("Shift in which they were judged"), tr("every shift"), found.shifts),
        ):
            if values:
                fields.append(_choice_field(name, label, every, values, self._values.get(name, "")))
        return tuple(fields)

    def _advice(self) -> tuple[str, ...]:
        words = filter_words(_wanted(self._values))
        return (tr("Looked at: {words} only.", words=words),) if words else (tr("Looked at: all records."),)

    def _keep(self, values: Mapping[str, str]) -> Route:
        for name, label in (("since", tr("Judged from")), ("until", tr("Judged until"))):
            if values[name] and day_of(values[name]) is None:
                raise InputError(tr("{label}: must be a day such as 2026-03-02.", label=label))
        wanted = _wanted(values)
        if wanted.since and wanted.until and wanted.until < wanted.since:
            raise InputError(
                tr(
                    "Judged until: {until} is before Judged from ({since}); mend one of the two.",
                    until=day_said(wanted.until),
                    since=day_said(wanted.since),
                )
            )
        return replace(self.route.up(), filter=wanted.to_text())


def _wanted(values: Mapping[str, str]) -> RecordFilter:
    names = ("since", "until", "shift", "tablet", "unit")
    return RecordFilter(**{name: values.get(name, "").strip() for name in names})


def _day_field(name: str, label: str, days: Sequence[FilterValue]) -> FormField:
    return FormField(
        name=name,
        label=label,
        form="day",
        options=(("", tr("any day")), *((one.value, one.words) for one in days)),
        hint=tr("Tap a day on which parts were judged, or type one such as 2026-03-02."),
    )


def _choice_field(
    name: str, label: str, every: str, values: Sequence[FilterValue], chosen: str
) -> FormField:
    offered = list(_offered(values, chosen))
    left_out = len(values) - len(offered)
    return FormField(
        name=name,
        label=label,
        form="choice",
        options=(
            ("", every),
            *((one.value, f"{one.words}: {parts_in_words(one.parts)}") for one in offered),
        ),
        hint=trn(
            "Those with most parts; {count} more is not offered.",
            "Those with most parts; {count} more are not offered.",
            left_out,
        )
        if left_out
        else "",
    )


def _offered(values: Sequence[FilterValue], chosen: str) -> Iterator[FilterValue]:
    """Of very many values those with most parts, and the chosen one, in the order of all."""
    largest = sorted(values, key=lambda one: (-one.parts, one.value))[:MOST_OFFERED]
    kept = {one.value for one in largest} | {chosen}
    yield from (one for one in values if one.value in kept)
