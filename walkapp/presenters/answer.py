"""The first-bad-station view: where it starts, how sure that is, and what to do next."""

from __future__ import annotations

from dataclasses import dataclass, replace

from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.analysis.results import OriginAnswer, StationVerdict
from walkapp.errors import WalkappError
from walkapp.language import decimal_text, msg, tr, tr_choices, trn
from walkapp.presenters.bundle_writing import write_concern_bundle
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.wording import VERDICT_MARKS, parts_in_words, percent, plans_in_words, share_range

CLEAN_CHOICES = (
    ("0.1 0.95", msg("under 10 %, 95 % confidence")),
    ("0.05 0.95", msg("under 5 %, 95 % confidence")),
    ("0.01 0.95", msg("under 1 %, 95 % confidence")),
    ("0.1 0.9", msg("under 10 %, 90 % confidence")),
)
"""What "clean" can mean: share affected and confidence, as a word and in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerRow:
    """One station in the answer.

    Parameters
    ----------
    station
        Id of the station.
    number, name
        Its place in the stream, and its name.
    counts
        NOK of checked, in words.
    interval
        The exact 95 % interval of the share, in words.
    low, share, high
        The same as numbers from 0 to 1, for drawing; none when nothing was checked.
    probability
        Probability that the defect starts here, in words.
    probability_value
        The same as a number from 0 to 1, for drawing.
    mark, verdict
        Shape and words of the verdict.
    proof
        What would prove the station clean, in words; empty when it does not apply.
    is_named
        Whether this is the (most likely) first bad station.
    """

    station: str
    number: str
    name: str
    counts: str
    interval: str
    low: float | None
    share: float | None
    high: float | None
    probability: str
    probability_value: float
    mark: str
    verdict: str
    proof: str
    is_named: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerState:
    """Everything the first-bad-station view shows.

    Parameters
    ----------
    title
        The concern.
    sentence
        The answer.
    plain_rule
        What the plain rule says, set beside it.
    next
        Where to go next and why, or, once an answer is sure, what it takes to be surer; empty when
        there is nothing to advise.
    rows
        One a station.
    nowhere
        Probability that the defect is not present in this stream, in words.
    assumptions
        What was taken for granted.
    clean
        The word of ``CLEAN_CHOICES`` that says what "clean" means.
    clean_options
        All of ``CLEAN_CHOICES``.
    sensitivity
        Whether the answer depends on how good the checks are; empty when no station is named.
    warnings
        Warning signs.
    written
        The bundle that was just written; empty otherwise.
    problem
        What went wrong; empty when nothing did.
    busy
        Whether a bundle is being written.
    """

    title: str = ""
    sentence: str = ""
    plain_rule: str = ""
    next: str = ""
    rows: tuple[AnswerRow, ...] = ()
    nowhere: str = ""
    assumptions: str = ""
    clean: str = ""
    clean_options: tuple[tuple[str, str], ...] = ()
    sensitivity: str = ""
    warnings: tuple[str, ...] = ()
    written: str = ""
    problem: str = ""
    busy: bool = False


class AnswerPage(Observed[AnswerState]):
    """Presents the answer of one concern, over all its walks.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The concern, and the walk and station it was opened from, if any.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(AnswerState(clean_options=tr_choices(CLEAN_CHOICES)))
        self.session = session
        self.route = route

    def open(self) -> None:
        """Work the answer out."""

        def run() -> AnswerState:
            facts = concern_facts(self.session.place, self.route.concern)
            stream = facts.known_stream()
            here = stream.station(self.route.station)
            word = self.session.kept.clean()
            clean = word if word in dict(CLEAN_CHOICES) else CLEAN_CHOICES[0][0]
            share, confidence = map(float, clean.split())
            answer = facts.locate(
                here=here.order if here else None, clean_share=share, clean_confidence=confidence
            )
            return replace(answer_state(facts, answer), clean=clean)

        self.session.run_later(run, self._show, self.fail)

    def write_bundle(self) -> None:
        """Write the bundle of this concern into the session's folder for bundles."""
        self._show(replace(self.state, busy=True, problem="", written=""))

        def run() -> str:
            return write_concern_bundle(self.session, self.route.concern)

        def done(words: str) -> None:
            self._show(replace(self.state, busy=False, written=words))

        self.session.run_later(run, done, self.fail)

    def choose_clean(self, word: str) -> None:
        """Say what "clean" means, for the parts that would prove a station clean; kept for later."""
        self.session.run_later(lambda: self.session.kept.keep_clean(word), lambda _: self.open(), self.fail)

    def look_closer(self) -> None:
        """Go to what is known within the named station, or within the first one that has parts."""
        rows = self.state.rows
        chosen = [row for row in rows if row.is_named] or [row for row in rows if row.share is not None]
        for row in (chosen or rows)[:1]:
            self.session.go(replace(self.route, screen="detail", station=row.station, check=""))

    def to_onset(self) -> None:
        """Go to when it began, and which changes may be the cause."""
        self.session.go(replace(self.route, screen="onset", check=""))

    def suspect(self) -> None:
        """Open the page that records which station somebody suspects."""
        self.session.go(replace(self.route, screen="weight", check=""))

    def back(self) -> None:
        """Go back to the station, or to the concern."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, busy=False, problem=str(error)))


def answer_state(facts: ConcernFacts, answer: OriginAnswer) -> AnswerState:
    """Put an answer into words."""
    stream = facts.known_stream()
    ids = {station.name: station.id for station in stream.stations}
    taken = answer.assumptions
    return AnswerState(
        title=facts.concern.what,
        clean_options=tr_choices(CLEAN_CHOICES),
        sentence=answer.sentence,
        plain_rule=plain_rule_text(answer),
        next=next_text(answer),
        rows=tuple(answer_row(ids[v.station], v, answer) for v in answer.stations),
        nowhere=tr(
            "Not present in this stream: {none_probability}",
            none_probability=percent(answer.none_probability),
        ),
        assumptions=(
            tr(
                "Taken for granted: of truly defective parts {detection} are called NOK, of good "
                "parts {false_alarm}; affected share {share_low}, each doubling about as likely "
                "as the next; stations weighted as said below before the first check. Intervals "
                "are exact (Clopper-Pearson, 95 %, two-sided).",
                detection=percent(taken.detection),
                false_alarm=percent(taken.false_alarm),
                share_low=share_range(taken.share_low, taken.share_high),
            )
            if taken.is_weighted
            else tr(
                "Taken for granted: of truly defective parts {detection} are called NOK, of good "
                "parts {false_alarm}; affected share {share_low}, each doubling about as likely "
                "as the next; every station equally likely before the first check. Intervals are "
                "exact (Clopper-Pearson, 95 %, two-sided).",
                detection=percent(taken.detection),
                false_alarm=percent(taken.false_alarm),
                share_low=share_range(taken.share_low, taken.share_high),
            )
        ),
        sensitivity=answer.sensitivity.sentence if answer.sensitivity else "",
        warnings=answer.warnings,
    )


def plain_rule_text(answer: OriginAnswer) -> str:
    """Say what the plain rule says."""
    if answer.plain_rule_station is None:
        return tr("Plain rule (first station where any NOK was seen): no NOK was seen.")
    return tr(
        "Plain rule (first station where any NOK was seen): {plain_rule_station}.",
        plain_rule_station=answer.plain_rule_station,
    )


def next_text(answer: OriginAnswer) -> str:
    """Say where to go next and why, or what it takes to be surer than 95 %."""
    if answer.next is not None:
        advice = answer.next
        return tr(
            "Next: {station}, check {parts} (about {minutes} min; {chance_sure} that one "
            "answer is sure then). {why} Chance to be sure after {plans}.",
            station=advice.station,
            parts=parts_in_words(advice.parts),
            minutes=decimal_text(f"{advice.minutes:.0f}"),
            chance_sure=percent(advice.chance_sure),
            why=advice.why,
            plans=plans_in_words(advice.plans),
        )
    if answer.beyond is not None:
        more = answer.beyond
        return tr(
            "Sure enough to name it: wrong in at most 1 of 20 such answers. To reach 99 %: "
            "check {parts} at {station} (about {minutes} min).",
            parts=parts_in_words(more.parts),
            station=more.station,
            minutes=decimal_text(f"{more.minutes:.0f}"),
        )
    return ""


def answer_row(station: str, verdict: StationVerdict, answer: OriginAnswer) -> AnswerRow:
    """Put one station into words."""
    interval = verdict.interval
    proof = ""
    if verdict.parts_to_prove_clean:
        taken = answer.assumptions
        proof = trn(
            "{count} more OK would show under {clean_share} affected ({clean_confidence} confidence)",
            "{count} more OK would show under {clean_share} affected ({clean_confidence} confidence)",
            verdict.parts_to_prove_clean,
            clean_share=percent(taken.clean_share),
            clean_confidence=percent(taken.clean_confidence),
        )
    return AnswerRow(
        station=station,
        number=str(verdict.order),
        name=verdict.station,
        counts=tr("{nok} of {checked}", nok=verdict.nok, checked=verdict.checked)
        if verdict.checked
        else tr("none checked"),
        interval=share_range(interval.low, interval.high) if interval else tr("not known"),
        low=interval.low if interval else None,
        share=verdict.share,
        high=interval.high if interval else None,
        probability=percent(verdict.probability_origin),
        probability_value=verdict.probability_origin,
        mark=VERDICT_MARKS[verdict.verdict],
        verdict=tr(verdict.verdict),
        proof=proof,
        is_named=answer.first_bad_station == verdict.station,
    )
