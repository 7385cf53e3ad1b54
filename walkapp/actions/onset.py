"""When the defect started, and which recorded change may be the cause: from the records of a concern."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from textwrap import shorten

from walkapp.actions.changes import change_points, may_be_taken_back, take_back_change
from walkapp.actions.days import refuse_to_come
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.reasons import TAKEN_BACK
from walkapp.actions.studies import checks_to_study
from walkapp.actions.workplace import Workplace
from walkapp.analysis.gather import gather_tallies
from walkapp.analysis.gather_dated import gather_dated
from walkapp.analysis.onset import OnsetAnswer, find_onset
from walkapp.analysis.origin import most_probable, origin_posterior
from walkapp.analysis.results import StationTally
from walkapp.analysis.same_change import same_changes
from walkapp.analysis.shares import SharePrior
from walkapp.analysis.suspects import Change, Ranking, rank_changes
from walkapp.analysis.wording import percent
from walkapp.errors import InputError
from walkapp.language import msg, tr, trn
from walkapp.model.checklist import Station, Stream
from walkapp.model.records import ChangePoint, DatedCount, Record, Withdrawal

NO_ROWS = msg(
    "No lot with a production day was counted yet: count retained or returned parts of "
    "several days, good ones as well as bad ones."
)

BEFORE, FIRST, MAYBE_FIRST, AFTER, OPEN = (
    msg("before it started"),
    msg("first bad"),
    msg("may be first bad"),
    msg("after it started"),
    msg("undecided"),
)
"""What is said of a row."""

MOST_NAMED = 3
"""How many changes a sentence names."""

MOST_OF_A_NAME = 60
"""Characters of what changed that a sentence shows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedOnset:
    """When the defect of a concern started, and the recorded changes set against it.

    Parameters
    ----------
    station
        Where the parts of the rows were judged; none when nothing was.
    first_bad
        The station at which the defect most probably starts; none when none is named.
    onset
        What the rows say; none when there are none.
    ranking
        The recorded changes, the most suspect first.
    changes
        The records of each change, by the id of the first: several where two tablets recorded the same
        change (:func:`walkapp.analysis.same_change.same_changes`).
    stations
        The station of each ranked change, by the same id.
    notes
        What has to be minded about the counts, a sentence each.
    assumptions
        What was taken for granted, a sentence each.
    """

    station: Station | None
    first_bad: Station | None
    onset: OnsetAnswer | None
    ranking: Ranking
    changes: Mapping[str, tuple[ChangePoint, ...]]
    stations: Mapping[str, Station]
    notes: tuple[str, ...]
    assumptions: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """The answer in words."""
        return tr(NO_ROWS) if self.onset is None else self.onset.sentence

    @property
    def warnings(self) -> tuple[str, ...]:
        """What has to be minded of counts, onset and suspects, the most important first."""
        of_changes = self.ranking.warnings if self.ranking.suspects else ()
        of_onset = self.onset.warnings if self.onset else ()
        return (*self.notes, *of_onset, *of_changes, *_change_notes(self.changes.values()))

    def verdict(self, place: int) -> str:
        """Say what is thought of the row at that place: ``FIRST``, ``BEFORE`` and so on."""
        onset = self.onset
        if onset is None or onset.interval is None:
            return OPEN
        if place == onset.first_bad:
            return FIRST
        if place < onset.interval.first:
            return BEFORE
        return MAYBE_FIRST if place <= onset.interval.last else AFTER

    def word(self, place: int) -> str:
        """Say the same for people: "most likely" unless the answer is sure."""
        verdict = self.verdict(place)
        is_open = verdict in (OPEN, MAYBE_FIRST)
        said = tr(verdict)
        if is_open or (self.onset and self.onset.is_sure):
            return said
        return tr("most likely {verdict}", verdict=said)


def date_onset(facts: ConcernFacts) -> DatedOnset:
    """Find the first bad lot or day of a concern, and rank its recorded changes.

    Parameters
    ----------
    facts
        The concern with the records of all its walks.

    Returns
    -------
    DatedOnset
        The rows are those of one station: the first bad one if older lots were counted there or nowhere,
        otherwise the station at which most parts of older lots were counted. For the suspects every
        station counts as equally probable beforehand, and no days are taken to lie between two stations.

    Raises
    ------
    InputError
        If the checklist of the stream is not known.
    """
    return facts.once(_date_onset)


def _date_onset(facts: ConcernFacts) -> DatedOnset:
    stream, records = facts.known_stream(), facts.origin_records
    concern = facts.concern
    share = SharePrior(low=float(concern.share_low or 0), high=float(concern.share_high or 1))
    tallies = gather_tallies(stream, records, concern.defect)
    posterior = origin_posterior(tallies, share=share)
    likeliest = most_probable(tallies, posterior.origin, posterior.none)
    # The ranking is derived for stations that are equally probable beforehand.
    flat = [replace(tally, weight=1.0) for tally in tallies]
    posterior = origin_posterior(flat, share=share)
    first_bad = stream.stations[likeliest[0]] if likeliest else None
    older = _older_parts(stream, records, concern.defect)
    station = _counted_at(stream, first_bad, older)
    notes = [*_weight_notes(tallies), *_place_notes(station, first_bad, older)]
    onset = None
    if station is not None:
        dated = gather_dated(stream, station, records, concern.defect)
        if dated.undated:
            notes.append(
                trn(
                    "{count} part checked at {station} has no production day on record and no row here.",
                    "{count} parts checked at {station} have no production day on record and no row here.",
                    dated.undated,
                    station=station.name,
                )
            )
        if dated.rows:
            onset = find_onset(dated.rows, share=share)
    changes = {same[0].id: same for same in same_changes(change_points(facts))}
    stations = {
        key: found
        for key, same in changes.items()
        if (found := stream.station(same[0].station)) is not None
    }
    if lost := len(changes) - len(stations):
        notes.append(
            trn(
                "{count} recorded change is at stations that the checklist does not have, and not ranked.",
                "{count} recorded changes are at stations that the checklist does not have, and "
                "not ranked.",
                lost,
            )
        )
    ranking = rank_changes(
        [
            Change(id=key, order=at.order, kind=changes[key][0].change, when=changes[key][0].changed_on)
            for key, at in stations.items()
        ],
        origin={tally.order: chance for tally, chance in zip(flat, posterior.origin, strict=True)},
        onset=onset,
    )
    return DatedOnset(
        station=station if onset else None,
        first_bad=first_bad,
        onset=onset,
        ranking=ranking,
        changes=changes,
        stations=stations,
        notes=tuple(notes),
        assumptions=(*(_onset_assumptions(flat, station) if onset else ()), *ranking.assumptions),
    )


def _older_parts(stream: Stream, records: Iterable[Record], defect: str) -> dict[str, int]:
    """Parts of older lots counted at each station, in stream order; none where there are none."""
    older = [record for record in records if isinstance(record, DatedCount)]
    found = {}
    for station in stream.stations:
        rows = gather_dated(stream, station, older, defect).rows
        if rows:
            found[station.id] = sum(tally.checked for row in rows for tally in row.tallies)
    return found


def _counted_at(stream: Stream, first_bad: Station | None, older: Mapping[str, int]) -> Station | None:
    if not older or (first_bad is not None and first_bad.id in older):
        return first_bad
    return stream.station(max(older, key=lambda station: older[station]))


def _weight_notes(tallies: Sequence[StationTally]) -> Iterator[str]:
    if len({tally.weight for tally in tallies}) > 1:
        yield (
            tr(
                "The weights that were given to stations do not count among the suspects: every "
                "station is taken to be equally probable beforehand."
            )
        )


def _place_notes(
    station: Station | None, first_bad: Station | None, older: Mapping[str, int]
) -> Iterator[str]:
    """Say where the parts were judged, where that is not the first bad station."""
    if station is None:
        return
    if not older:
        yield tr("No older lot was counted yet: only the parts that were checked on walks have rows.")
    elif first_bad is None:
        yield tr(
            "No first bad station is named yet; the rows are the counts at {station}.", station=station.name
        )
    elif station.order < first_bad.order:
        yield (
            tr(
                "Older lots were counted at {station}, upstream of {first_bad}, where the defect "
                "most likely starts: they cannot show when. Count parts that came through "
                "{first_bad}.",
                station=station.name,
                first_bad=first_bad.name,
            )
        )
    elif station.order > first_bad.order:
        yield (
            tr(
                "The rows are counts at {station}, downstream of {first_bad}, where the defect "
                "most likely starts.",
                station=station.name,
                first_bad=first_bad.name,
            )
        )
    elsewhere = sum(parts for at, parts in older.items() if at != station.id)
    if elsewhere:
        yield trn(
            "{count} part of older lots counted at other stations has no row here: one station alone dates "
            "the onset.",
            "{count} parts of older lots counted at other stations have no row here: one station alone "
            "dates the onset.",
            elsewhere,
        )


def _change_notes(changes: Collection[tuple[ChangePoint, ...]]) -> Iterator[str]:
    """Say which changes the customer was not told of, and which records were taken as one change."""
    untold = [same for same in changes if any(point.customer_told == "no" for point in same)]
    if untold:
        yield tr("The customer was not told of: {names_of}.", names_of=_names_of(untold))
    double = [same for same in changes if len(same) > 1]
    if double:
        yield (
            tr(
                "Recorded on several tablets: {changes}. That is taken as one change; correct one of the "
                "records if they are two.",
                changes=_names_of(double),
            )
            if len(double) == 1
            else tr(
                "Recorded on several tablets: {changes}. Each of them is taken as one change; correct "
                "one of the records if they are two.",
                changes=_names_of(double),
            )
        )


def _names_of(changes: Sequence[tuple[ChangePoint, ...]]) -> str:
    names = [shorten(same[0].what, MOST_OF_A_NAME, placeholder=" ...") for same in changes[:MOST_NAMED]]
    more = len(changes) - len(names)
    told = "; ".join(names)
    return tr("{names}; and {more} more", names=told, more=more) if more else told


def _onset_assumptions(tallies: Sequence[StationTally], station: Station | None) -> tuple[str, ...]:
    rates = next((t for t in tallies if station is not None and t.order == station.order), None)
    said = ""
    if rates is not None:
        said = tr(
            "of truly defective parts {next_detection} are called NOK, of good parts {next_false_alarm}; ",
            next_detection=percent(rates.next_detection),
            next_false_alarm=percent(rates.next_false_alarm),
        )
    return (
        tr(
            "Taken for granted: {said}no part was bad before it started, and one share of "
            "them from then on; every row equally likely beforehand, and “not in these rows” "
            "as likely as one row. Intervals of shares are exact (Clopper-Pearson, 95 %, "
            "two-sided).",
            said=said,
        ),
    )


def count_lot(
    place: Workplace,
    facts: ConcernFacts,
    station: str,
    check: str,
    *,
    lot: str,
    made_on: str,
    checked: int,
    nok: int,
    walk: str = "",
) -> DatedCount:
    """Record parts of an older lot, checked and NOK.

    Parameters
    ----------
    place
        Where to write.
    facts
        The concern.
    station, check
        Ids of a station and of a check there that finds the concern's defect.
    lot, made_on
        Lot, or empty; and production day (ISO 8601), not after today.
    checked, nok
        Parts.
    walk
        Id of the walk in which it is recorded; empty for none.

    Raises
    ------
    InputError
        If there is no such check, or the day is still to come.
    RecordError
        If a value is not allowed.
    """
    if (station, check) not in {(s.id, c.id) for s, c in checks_to_study(facts)}:
        raise InputError(
            tr(
                "No check {check} at the station {station} judges parts for this defect; choose another.",
                check=repr(check),
                station=repr(station),
            )
        )
    refuse_to_come(place, tr("Production day"), made_on)
    return place.add(
        DatedCount,
        concern=facts.concern.concern,
        walk=walk,
        station=station,
        check=check,
        lot=lot,
        made_on=made_on,
        checked=checked,
        nok=nok,
    )


def newest_dated(facts: ConcernFacts, device: str) -> DatedCount | ChangePoint | None:
    """Give the count of an older lot or the change point that "undo" takes back: this tablet's newest."""
    own = (
        record
        for record in facts.standing.current
        if (isinstance(record, DatedCount) and record.device == device)
        or (isinstance(record, ChangePoint) and may_be_taken_back(record, device))
    )
    return max(own, key=lambda record: record.number, default=None)


def take_back_dated(place: Workplace, facts: ConcernFacts) -> Record:
    """Take back the newest count of an older lot or change point of this tablet.

    Raises
    ------
    InputError
        If there is none.
    """
    newest = newest_dated(facts, place.store.device)
    if newest is None:
        raise InputError(tr("There is no count or change point to take back on this tablet."))
    if isinstance(newest, ChangePoint):
        return take_back_change(place, newest)
    return place.add(
        Withdrawal, concern=newest.concern, walk=newest.walk, replaces=(newest.id,), why=TAKEN_BACK
    )
