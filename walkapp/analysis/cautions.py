"""Signs that the answer may mislead, as sentences for people."""

from __future__ import annotations

import math
from collections.abc import Sequence

from walkapp.analysis.origin import Posterior
from walkapp.analysis.proportions import fisher_exact
from walkapp.analysis.results import StationTally, StationVerdict
from walkapp.analysis.wording import expected_parts, named, parts_in_words, percent, percent_at_most

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
    begin = f"The plain rule names {first.name}, where the first NOK was seen; "
    if origin is None:
        seen = sum(s.nok for s in stations)
        return [
            (
                f"{begin}the computation names no station, because {parts_in_words(seen)} NOK of "
                f"{sum(s.checked for s in stations)} may be false alarms ({_expected(stations)} expected)."
            )
        ]
    station = stations[origin]
    if origin < plain:
        # Only prior weights can do this: with flat ones NOK speaks at least as loud for its own station.
        seen_there = f"had {_nok_of([station])} NOK" if station.checked else "was not checked"
        return [
            (
                f"{begin}the computation names {station.name}, which was thought the likelier origin "
                f"beforehand and {seen_there}."
            )
        ]
    before, after = stations[plain:origin], stations[origin:]
    return [
        (
            f"{begin}the computation names {station.name}, because from {first.name} up to it "
            f"{_nok_of(before)} NOK ({_expected(before)} false alarms expected) and from {station.name} on "
            f"{_nok_of(after)}."
        )
    ]


def _may_come_from_before(stations: Sequence[StationTally], origin: int | None) -> list[str]:
    if origin is None or any(s.checked for s in stations[:origin]):
        return []
    name = stations[origin].name
    if stations[origin].order == 0:
        return [f"{name} comes from outside: look for the start of the defect before this stream."]
    if origin == 0:
        return [f"{name} is the first station of the stream: the defect may come from before it."]
    return [
        (
            f"{name} is the first station that was checked: nothing shows yet that the defect does not "
            "come from before it."
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
        return [f"{names} was skipped: the defect may start there as well ({chance})."]
    return [f"{names} were skipped: the defect may start there as well ({chance} together)."]


def _different_days(stations: Sequence[StationTally]) -> list[str]:
    dated = [s for s in stations if s.checked and s.made_on]
    groups: dict[tuple[str, ...], list[str]] = {}
    for station in dated:
        groups.setdefault(tuple(sorted(set(station.made_on))), []).append(station.name)
    if len(groups) < 2:
        return []
    listed = "; ".join(f"{named(names)}: {', '.join(days)}" for days, names in groups.items())
    return [f"The parts were not all made on the same days, so their shares may not compare ({listed})."]


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
            why = "sorting, rework or mixing on the way"
            if rates_used([station]) != rates_used(seen):
                why += ", or a check there that finds less"
            drop = (
                f"The share of NOK drops at {station.name} ({_nok_of([station])}) after {_nok_of(seen)} "
                f"from {stations[origin].name} on: "
            )
            if any(s.sorts for s in stations[origin + 1 : stations.index(station) + 1]):
                return [
                    f"{drop}the checklist says that parts are sorted out on the way, which is allowed for."
                ]
            mend = "where parts are sorted out, say so in the checklist (sorts = true)"
            return [f"{drop}{why} may hide the defect; {mend}, then it is allowed for."]
        seen.append(station)
    return []


def _nok_upstream(stations: Sequence[StationTally], origin: int | None) -> list[str]:
    """NOK before the named station, beyond the first one, which the two rules already speak of."""
    if origin is None:
        return []
    plain = plain_rule_index(stations)
    return [
        f"{_nok_of([station])} NOK at {station.name}, before {stations[origin].name}: if the defect starts "
        f"there, these are false alarms ({_expected([station])} expected)."
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
    many = f"{parts_in_words(last.checked)} OK"
    return [
        (
            f"{many} {'does' if last.checked == 1 else 'do'} not prove that {last.station} is clean: up to "
            f"{percent_at_most(last.upper_one_sided)} could be NOK (95 %); "
            f"{last.parts_to_prove_clean} more, all OK, would."
        )
    ]


def _nok_of(stations: Sequence[StationTally]) -> str:
    return f"{sum(s.nok for s in stations)} of {parts_in_words(sum(s.checked for s in stations))}"


def _expected(stations: Sequence[StationTally]) -> str:
    return expected_parts(math.fsum(t.checked * t.false_alarm for s in stations for t in s.tallies))


def rates_used(stations: Sequence[StationTally]) -> set[tuple[float, float]]:
    """Find detection and false alarm of every check with which parts were judged."""
    return {(t.detection, t.false_alarm) for s in stations for t in s.tallies if t.checked}
