"""Clean points: what speaks for the first parts that are certified good, and what against them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from walkapp.actions.days import is_after
from walkapp.actions.reading import ConcernFacts
from walkapp.analysis.clean_point import (
    BEFORE_BY_LOT,
    CONTRADICTS,
    IN_DOUBT,
    CleanSupport,
    MadeWhen,
    clean_support,
    judge_escape,
)
from walkapp.analysis.gather import gather_tallies
from walkapp.language import day_said, tr, trn
from walkapp.model.checklist import DEFAULT_DETECTION
from walkapp.model.records import Action, ActionDone, CleanPoint, Escape, SuspectRange


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanPointFacts:
    """One clean point, and what speaks for and against it.

    Parameters
    ----------
    point
        The record, as corrected.
    name
        Lot, serial number or day, in words.
    support
        What the OK parts support.
    against
        Why it does not hold, a sentence each; empty when it holds.
    cautions
        What has to be minded about it, a sentence each.
    """

    point: CleanPoint
    name: str
    support: CleanSupport
    against: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether nothing that is recorded speaks against it."""
        return not self.against


def detections(facts: ConcernFacts) -> dict[str, float]:
    """Give, for each station (by id) with a check for this defect, the chance that it finds a bad part."""
    if facts.stream is None:
        return {}
    stations = {station.order: station.id for station in facts.stream.stations}
    return {
        stations[tally.order]: tally.next_detection
        for tally in gather_tallies(facts.stream, facts.standing.current, facts.concern.defect)
        if tally.can_be_checked
    }


def detection_for(found: Mapping[str, float], station: str = "") -> float:
    """Choose the chance that a bad part is found.

    Parameters
    ----------
    found
        What :func:`detections` gave.
    station
        Id of the station at which the parts were checked; empty when not known.

    Returns
    -------
    float
        That of the station; the lowest of all where it has none; what is usual where nobody has any.
    """
    return found.get(station, min(found.values(), default=DEFAULT_DETECTION))


def clean_name(point: CleanPoint) -> str:
    """Name a clean point by lot, serial number and day, as far as known."""
    said = (
        point.lot and tr("lot {lot}", lot=point.lot),
        point.serial and tr("serial number {serial}", serial=point.serial),
        point.made_on and tr("production day {made_on}", made_on=day_said(point.made_on)),
    )
    return ", ".join(filter(None, said))


def judge_clean_point(
    facts: ConcernFacts,
    point: CleanPoint,
    escapes: Sequence[Escape],
    suspect: SuspectRange | None,
    detection: float,
) -> CleanPointFacts:
    """Set a clean point against escapes, suspect range and corrective actions.

    Parameters
    ----------
    facts
        The concern.
    point
        The clean point.
    escapes
        Bad parts that got past the containment, the oldest find first.
    suspect
        The suspect range; none when nobody recorded one.
    detection
        Chance that the check finds a bad part, above 0 and at most 1.
    """
    found = _by_verdict(point, escapes)
    return CleanPointFacts(
        point=point,
        name=clean_name(point),
        support=clean_support(point.checked, lot_size=point.lot_size, detection=detection),
        against=tuple(_against(point, found)),
        cautions=(*_lots_taken(point, found), *_cautions(facts, point, suspect)),
    )


def _by_verdict(point: CleanPoint, escapes: Sequence[Escape]) -> dict[str, list[Escape]]:
    clean = MadeWhen(lot=point.lot, made_on=point.made_on)
    found: dict[str, list[Escape]] = {}
    for escape in escapes:
        bad = MadeWhen(lot=escape.lot, made_on=escape.made_on)
        found.setdefault(judge_escape(clean, point.at[:10], bad, escape.found_on), []).append(escape)
    return found


def _against(point: CleanPoint, found: Mapping[str, Sequence[Escape]]) -> Iterator[str]:
    """One sentence for the escapes that contradict it and one for those that may; the newest is named."""
    name = clean_name(point)
    if these := found.get(CONTRADICTS):
        yield tr(
            "The clean point {name} no longer holds: {parts} were made at or after it.",
            name=name,
            parts=_parts(these),
        )
    if these := found.get(IN_DOUBT):
        yield (
            tr(
                "The clean point {name} is in doubt: nobody can tell whether {parts} were made "
                "at or after it. Record their production day.",
                name=name,
                parts=_parts(these),
            )
        )


def _lots_taken(point: CleanPoint, found: Mapping[str, Sequence[Escape]]) -> Iterator[str]:
    if these := found.get(BEFORE_BY_LOT):
        lots = ", ".join(sorted({escape.lot for escape in these}))
        yield (
            tr(
                "By their numbers alone, bad parts of {lots} are taken to be made before the "
                "clean point lot {lot}; record production days to be sure.",
                lots=lots,
                lot=point.lot,
            )
        )


def _parts(escapes: Sequence[Escape]) -> str:
    parts, last = sum(escape.quantity for escape in escapes), escapes[-1]
    if len(escapes) > 1:
        return trn(
            "{count} bad part last found on {found_on}",
            "{count} bad parts last found on {found_on}",
            parts,
            found_on=day_said(last.found_on),
        )
    if last.lot:
        return trn(
            "{count} bad part of lot {lot} found on {found_on}",
            "{count} bad parts of lot {lot} found on {found_on}",
            parts,
            lot=last.lot,
            found_on=day_said(last.found_on),
        )
    return trn(
        "{count} bad part found on {found_on}",
        "{count} bad parts found on {found_on}",
        parts,
        found_on=day_said(last.found_on),
    )


def _cautions(facts: ConcernFacts, point: CleanPoint, suspect: SuspectRange | None) -> Iterator[str]:
    if suspect is not None and suspect.made_to and _is_gap(suspect.made_to, point.made_on):
        yield (
            tr(
                "Parts made after {made_to} and before {made_on} are neither in the suspect "
                "range nor good by the clean point.",
                made_to=day_said(suspect.made_to),
                made_on=day_said(point.made_on),
            )
        )
    done = last_corrective(facts)
    if not done:
        yield (
            tr(
                "No corrective action is recorded as done: what makes parts good from the clean "
                "point on is not known here."
            )
        )
    elif not point.made_on:
        yield (
            tr(
                "Whether the clean point is after the corrective action ({done}) is not known: "
                "it has no production day.",
                done=day_said(done),
            )
        )
    elif point.made_on < done:
        yield (
            tr(
                "The clean point ({made_on}) is before the corrective action ({done}): sorting "
                "alone keeps bad parts back between the two.",
                made_on=day_said(point.made_on),
                done=day_said(done),
            )
        )
    elif point.made_on == done:
        yield (
            tr(
                "The clean point is on the day of the corrective action ({done}): parts made on "
                "that day before it may be bad.",
                done=day_said(done),
            )
        )


def _is_gap(last_suspect: str, first_good: str) -> bool:
    """Whether a day lies between the two; `first_good` may be empty."""
    last = date.fromisoformat(last_suspect)
    return last < date.max and is_after(first_good, last + timedelta(days=1))


def last_corrective(facts: ConcernFacts) -> str:
    """Give the day on which the last corrective action was done (ISO 8601); empty when none was."""
    current = facts.standing.current
    corrective = {r.action for r in current if isinstance(r, Action) and r.aim == "corrective"}
    return max(
        (r.done_on for r in current if isinstance(r, ActionDone) and r.action in corrective), default=""
    )
