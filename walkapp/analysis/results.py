"""What the origin computation is given and what it says."""

from __future__ import annotations

from dataclasses import dataclass, replace

from walkapp.language import msg
from walkapp.model.checklist import CLEAN_CONFIDENCE, CLEAN_SHARE

CLEAN = msg("clean so far")
BAD = msg("bad")
UNDECIDED = msg("undecided")
NOT_VISITED = msg("not visited")

SURE = 0.95
"""Probability from which a station is named without "most likely"."""

SURER = 0.99
"""Probability to go on to where being wrong costs too much."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """Where a true value lies: a share, a p, a mean, a shift, a ratio or an index.

    Parameters
    ----------
    low, high
        `low` is at most `high`. Shares are 0 to 1, means and shifts in the unit of the values.
    confidence
        Share of such intervals that hold the true value, between 0 and 1.
    sides
        2 for a two-sided interval, 1 for a one-sided limit (of a share: `low` is then 0).
    """

    low: float
    high: float
    confidence: float
    sides: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Parts judged with one kind of check.

    Parameters
    ----------
    checked, nok
        Parts judged, and NOK among them; 0 <= `nok` <= `checked`.
    detection
        Chance that a truly defective part is called NOK, above `false_alarm`, at most 1.
    false_alarm
        Chance that a good part is called NOK, at least 0.
    """

    checked: int
    nok: int
    detection: float
    false_alarm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StationTally:
    """What was counted at one station.

    Parameters
    ----------
    order
        Place in the stream: 1, 2, ...; 0 for incoming material.
    name
        The station's name.
    tallies
        One for each check that was used; empty when nothing was checked.
    minutes
        Walking time from the station before it in the stream, in minutes.
    seconds_per_part
        Time to check one more part, in seconds, above 0.
    next_detection, next_false_alarm
        What a further part would be checked with.
    can_be_checked
        Whether the checklist has a check for this defect here.
    made_on
        Production dates (ISO 8601) of the parts checked, as far as recorded.
    sorts
        Whether parts can be sorted out, reworked or mixed with others here, so that a smaller share may
        be affected of what leaves this station and all after it.
    weight
        How probable it is beforehand that the defect starts here, relative to the other stations; 0 or
        more.
    """

    order: int
    name: str
    tallies: tuple[Tally, ...] = ()
    minutes: float = 1.0
    seconds_per_part: float = 15.0
    next_detection: float = 0.90
    next_false_alarm: float = 0.005
    can_be_checked: bool = True
    made_on: tuple[str, ...] = ()
    sorts: bool = False
    weight: float = 1.0

    @property
    def checked(self) -> int:
        """Parts checked here in all."""
        return sum(tally.checked for tally in self.tallies)

    @property
    def nok(self) -> int:
        """Parts NOK here in all."""
        return sum(tally.nok for tally in self.tallies)


@dataclass(frozen=True, slots=True, kw_only=True)
class StationVerdict:
    """What is said of one station.

    Parameters
    ----------
    order, station
        Place in the stream and name.
    checked, nok
        The counts that the rest stands on.
    share
        `nok` over `checked`; none when nothing was checked.
    interval
        Exact two-sided interval for the share called NOK; none when nothing was checked.
    upper_one_sided
        One-sided 95 % upper limit for the share called NOK; none when nothing was checked.
    probability_origin
        Probability that the defect first appears in what leaves this station, 0 to 1.
    probability_present
        Probability that the defect is in what leaves this station, 0 to 1.
    verdict
        ``CLEAN``, ``BAD``, ``UNDECIDED`` or ``NOT_VISITED``.
    parts_to_prove_clean
        How many more OK parts would show, with the confidence and share of the assumptions, that
        the station is clean, whatever NOK was seen; none when the verdict is ``BAD`` or the station has
        no check.
    """

    order: int
    station: str
    checked: int
    nok: int
    share: float | None
    interval: Interval | None
    upper_one_sided: float | None
    probability_origin: float
    probability_present: float
    verdict: str
    parts_to_prove_clean: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchPlan:
    """What checking so many parts at one station is expected to bring.

    Parameters
    ----------
    parts
        How many parts, at least 1.
    minutes
        Walking and checking time.
    bits
        Expected loss of uncertainty.
    chance_sure
        Chance that one answer is sure afterwards, 0 to 1.
    """

    parts: int
    minutes: float
    bits: float
    chance_sure: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Where to go next.

    Parameters
    ----------
    station
        Name of the station.
    order
        Its place in the stream.
    parts
        How many parts to check there, at least 1.
    minutes
        Walking and checking time, in minutes.
    bits_per_minute
        Expected loss of uncertainty per minute, in bits.
    why
        One sentence for the person holding the tablet.
    plans
        What fewer and more parts at that station are expected to bring, in order of their number.
    """

    station: str
    order: int
    parts: int
    minutes: float
    bits_per_minute: float
    why: str
    plans: tuple[BatchPlan, ...]

    @property
    def chance_sure(self) -> float:
        """Chance that one answer is sure after these parts, 0 to 1."""
        return next(plan.chance_sure for plan in self.plans if plan.parts == self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class SensitivityRow:
    """What would be named with another rate of the checks.

    Parameters
    ----------
    value
        The detection or false alarm tried for all checks, 0 to 1.
    station
        The station that would be named; none when "not present" would be the most probable.
    probability
        Its probability, 0 to 1.
    """

    value: float
    station: str | None
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """Whether the answer depends on how good the checks are.

    Parameters
    ----------
    by_detection
        Rows for other detections, the highest first.
    by_false_alarm
        Rows for other false alarms, the lowest first.
    sentence
        The same for people.
    """

    by_detection: tuple[SensitivityRow, ...]
    by_false_alarm: tuple[SensitivityRow, ...]
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumptions:
    """What the answer takes for granted.

    Parameters
    ----------
    detection, false_alarm
        The lowest detection and the highest false alarm among the checks used.
    share_low, share_high
        Range in which the affected share may lie, flat between.
    clean_share, clean_confidence
        "Clean" means: below this share of affected parts, with this confidence.
    is_weighted
        Whether some station was taken to be a likelier origin than another beforehand.
    """

    detection: float
    false_alarm: float
    share_low: float = 0.0
    share_high: float = 1.0
    clean_share: float = CLEAN_SHARE
    clean_confidence: float = CLEAN_CONFIDENCE
    is_weighted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OriginAnswer:
    """Where the defect starts, and how sure that is.

    Parameters
    ----------
    stations
        One verdict a station, in stream order.
    first_bad_station
        Name of the most probable origin; none when "not present" is more probable than each
        station, or when nothing was checked.
    probability
        Its probability; none when no station is named.
    plain_rule_station
        First station, in stream order, at which any NOK was seen; none when there was none.
    none_probability
        Probability that the defect is not present in this stream.
    next
        Where to go next; none when the answer is sure or nothing can be checked.
    beyond
        Where to go to be surer than 95 %, once one answer is sure; none before that, or when nothing
        can be checked.
    sensitivity
        Whether the answer depends on how good the checks are; none when no station is named.
    assumptions
        What was taken for granted.
    warnings
        Sentences for people, the most important first.
    sentence
        The answer in one sentence.
    """

    stations: tuple[StationVerdict, ...]
    first_bad_station: str | None
    probability: float | None
    plain_rule_station: str | None
    none_probability: float
    next: Advice | None
    beyond: Advice | None
    sensitivity: Sensitivity | None
    assumptions: Assumptions
    warnings: tuple[str, ...]
    sentence: str

    @property
    def is_sure(self) -> bool:
        """Whether a station is named with at least 95 %."""
        return self.probability is not None and self.probability >= SURE

    def with_warnings(self, more: tuple[str, ...]) -> OriginAnswer:
        """Give the same answer with further warnings behind its own."""
        return replace(self, warnings=self.warnings + more)
