"""Signs that the answer may mislead, as sentences for people."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from walkapp.analysis.origin import Posterior
from walkapp.analysis.proportions import fisher_exact
from walkapp.analysis.results import StationTally, StationVerdict
from walkapp.analysis.wording import expected_parts, named, parts_in_words, percent, percent_at_most
from walkapp.language import day_said, tr, trn, whole_text

DROP_LEVEL = 0.05
"""A fall of the share with a p below this (Fisher, two-sided) is worth a sentence: common practice."""


def find_cautions(
    stations: Sequence[StationTally],
    verdicts: Sequence[StationVerdict],
    posterior: Posterior,
    origin: int | None,
) -> tuple[str, ...]:
    """Collect what a careful colleague would say about the answer.

    Parameters
    ----------
    stations, verdicts
        In stream order, one verdict a station.
    posterior
        What is known.
    origin
        Index (from 0) of the station that is named, or none.

    Returns
    -------
    tuple of str
        Each names its station; the most important first; empty when nothing is to be said.
    """
    found = [
        *_rules_disagree(stations, posterior, origin),
        *_may_come_from_before(stations, origin),
        *_skipped(stations, posterior, origin),
        *_different_days(stations),
        *_share_drops(stations, origin),
        *_nok_upstream(stations, origin),
        *_small_clean_sample(stations, verdicts, origin),
    ]
    return tuple(found)


def plain_rule_index(stations: Sequence[StationTally]) -> int | None:
    """Index (from 0) of the first station at which any NOK was seen, or none."""
    return next((i for i, station in enumerate(stations) if station.nok), None)


def _rules_disagree(
    stations: Sequence[StationTally], posterior: Posterior, origin: int | None
) -> list[str]:
    plain = plain_rule_index(stations)
    if plain is None or plain == origin:
        return []
    first = stations[plain]
    begin = tr("The plain rule names {first}, where the first NOK was seen; ", first=first.name)
    if origin is None:
        seen = sum(s.nok for s in stations)
        return [
            tr(
                "{begin}the computation names no station, because {seen} NOK of {what} may "
                "be false alarms ({expected} expected).",
                begin=begin,
                seen=parts_in_words(seen),
                what=sum(s.checked for s in stations),
                expected=_expected(stations),
            )
        ]
    station = stations[origin]
    if origin < plain:
        # Only prior weights can do this: with flat ones NOK speaks at least as loud for its own station.
        seen_there = (
            tr("had {nok_of} NOK", nok_of=_nok_of([station])) if station.checked else tr("was not checked")
        )
        return [
            tr(
                "{begin}the computation names {station}, which was thought the likelier "
                "origin beforehand and {seen_there}.",
                begin=begin,
                station=station.name,
                seen_there=seen_there,
            )
        ]
    before, after = stations[plain:origin], stations[origin:]
    return [
        tr(
            "{begin}the computation names {station}, because from {first} up to it {nok_of} "
            "NOK ({expected} false alarms expected) and from {station} on {nok_of2}.",
            begin=begin,
            station=station.name,
            first=first.name,
            nok_of=_nok_of(before),
            expected=_expected(before),
            nok_of2=_nok_of(after),
        )
    ]


def _may_come_from_before(stations: Sequence[StationTally], origin: int | None) -> list[str]:
    if origin is None or any(s.checked for s in stations[:origin]):
        return []
    name = stations[origin].name
    if stations[origin].order == 0:
        return [
            tr("{name} comes from outside: look for the start of the defect before this stream.", name=name)
        ]
    if origin == 0:
        return [
            tr("{name} is the first station of the stream: the defect may come from before it.", name=name)
        ]
    return [
        tr(
            "{name} is the first station that was checked: nothing shows yet that the defect "
            "does not come from before it.",
            name=name,
        )
    ]


def _skipped(stations: Sequence[StationTally], posterior: Posterior, origin: int | None) -> list[str]:
    """Stations without any part right before the named one."""
    if origin is None:
        return []
    first = origin
    while first > 0 and stations[first - 1].checked == 0:
        first -= 1
    gap = [i for i in range(first, origin) if posterior.origin[i] > 0.0]
    if not gap:
        return []
    names = named([stations[i].name for i in gap])
    chance = percent(min(1.0, math.fsum(posterior.origin[i] for i in gap)))
    if len(gap) == 1:
        return [
            tr(
                "{names} was skipped: the defect may start there as well ({chance}).",
                names=names,
                chance=chance,
            )
        ]
    return [
        tr(
            "{names} were skipped: the defect may start there as well ({chance} together).",
            names=names,
            chance=chance,
        )
    ]


def _different_days(stations: Sequence[StationTally]) -> list[str]:
    dated = [s for s in stations if s.checked and s.made_on]
    groups: dict[tuple[str, ...], list[str]] = {}
    for station in dated:
        groups.setdefault(tuple(sorted(set(station.made_on))), []).append(station.name)
    if len(groups) < 2:
        return []
    listed = "; ".join(
        f"{named(names)}: {', '.join(map(day_said, days))}" for days, names in groups.items()
    )
    return [
        tr(
            "The parts were not all made on the same days, so their shares may not compare ({listed}).",
            listed=listed,
        )
    ]


def _share_drops(stations: Sequence[StationTally], origin: int | None) -> list[str]:
    """First station after the named one where the share is lower than from the named one up to it."""
    if origin is None:
        return []
    seen = [stations[origin]]
    for station in stations[origin + 1 :]:
        if not station.checked:
            continue
        nok, checked = sum(s.nok for s in seen), sum(s.checked for s in seen)
        lower = station.nok * checked < nok * station.checked
        if (
            lower
            and fisher_exact(nok, checked - nok, station.nok, station.checked - station.nok) < DROP_LEVEL
        ):
            drop = tr(
                "The share of NOK drops at {station} ({nok_of}) after {nok_of2} from {stations} on.",
                station=station.name,
                nok_of=_nok_of([station]),
                nok_of2=_nok_of(seen),
                stations=stations[origin].name,
            )
            return [" ".join((drop, *_why_it_drops(stations, origin, station, seen)))]
        seen.append(station)
    return []


def _why_it_drops(
    stations: Sequence[StationTally], origin: int, station: StationTally, seen: Sequence[StationTally]
) -> Iterator[str]:
    if any(s.sorts for s in stations[origin + 1 : stations.index(station) + 1]):
        yield tr("The checklist says that parts are sorted out on the way, which is allowed for.")
        return
    yield (
        tr("Sorting, rework or mixing on the way, or a check there that finds less, may hide the defect.")
        if rates_used([station]) != rates_used(seen)
        else tr("Sorting, rework or mixing on the way may hide the defect.")
    )
    yield tr("Where parts are sorted out, say so in the checklist (sorts = true), then it is allowed for.")


def _nok_upstream(stations: Sequence[StationTally], origin: int | None) -> list[str]:
    """NOK before the named station, beyond the first one, which the two rules already speak of."""
    if origin is None:
        return []
    plain = plain_rule_index(stations)
    return [
        tr(
            "{nok_of} NOK at {station}, before {stations}: if the defect starts there, these are "
            "false alarms ({expected} expected).",
            nok_of=_nok_of([station]),
            station=station.name,
            stations=stations[origin].name,
            expected=_expected([station]),
        )
        for i, station in enumerate(stations[:origin])
        if station.nok and i != plain
    ]


def _small_clean_sample(
    stations: Sequence[StationTally], verdicts: Sequence[StationVerdict], origin: int | None
) -> list[str]:
    """The last station that looks clean before the named one, or at the end of a stream without NOK."""
    if origin is None and any(s.nok for s in stations):
        return []
    upstream = verdicts[:origin] if origin is not None else verdicts
    last = next((v for v in reversed(upstream) if v.checked), None)
    if last is None or last.nok or last.upper_one_sided is None or not last.parts_to_prove_clean:
        return []
    return [
        trn(
            "{count} part OK does not prove that {station} is clean: up to {upper} could be NOK (95 %); "
            "{more} more, all OK, would.",
            "{count} parts OK do not prove that {station} is clean: up to {upper} could be NOK (95 %); "
            "{more} more, all OK, would.",
            last.checked,
            station=last.station,
            upper=percent_at_most(last.upper_one_sided),
            more=whole_text(last.parts_to_prove_clean),
        )
    ]


def _nok_of(stations: Sequence[StationTally]) -> str:
    return tr(
        "{what} of {what2}",
        what=sum(s.nok for s in stations),
        what2=parts_in_words(sum(s.checked for s in stations)),
    )


def _expected(stations: Sequence[StationTally]) -> str:
    return expected_parts(math.fsum(t.checked * t.false_alarm for s in stations for t in s.tallies))


def rates_used(stations: Sequence[StationTally]) -> set[tuple[float, float]]:
    """Find detection and false alarm of every check with which parts were judged."""
    return {(t.detection, t.false_alarm) for s in stations for t in s.tallies if t.checked}
