"""What an inspection study says, and letting the walk use it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from walkapp.actions.studies import StudyFacts, choose_rates, study_facts, take_back_rates
from walkapp.analysis.agreement_results import NokRate, PartAgreement
from walkapp.analysis.kappa import Kappa
from walkapp.analysis.study_plan import bad_parts_needed
from walkapp.analysis.wording import named, percent_at_most, share_from, share_to
from walkapp.errors import WalkappError
from walkapp.language import decimal_text, msg, msgn, tr, trn
from walkapp.model.records import RatesChosen
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.studies import how_far_text, size_text, study_title
from walkapp.presenters.wording import moment_text, percent, share_range


@dataclass(frozen=True, slots=True)
class _RateWords:
    """What is said of a rate, with its number of readings, and where there is none."""

    said: tuple[str, str]
    unknown: str


DETECTION = _RateWords(
    msgn(
        "Detection: {rate} ({range}), {nok} of {count} reading of bad parts NOK",
        "Detection: {rate} ({range}), {nok} of {count} readings of bad parts NOK",
    ),
    msg("Detection: not known, no bad part was judged"),
)
FALSE_ALARM = _RateWords(
    msgn(
        "False alarm: {rate} ({range}), {nok} of {count} reading of good parts NOK",
        "False alarm: {rate} ({range}), {nok} of {count} readings of good parts NOK",
    ),
    msg("False alarm: not known, no good part was judged"),
)

LEGEND = msg(
    "Ranges are two-sided 95 % with the parts as the sample. Kappa: 1 is full agreement, 0 "
    "is what chance would give; it depends on the mix of parts."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultBlock:
    """What the study says of one inspector, of all, or of pairs.

    Parameters
    ----------
    title
        Whom it is about.
    lines
        What is said, a line each.
    """

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyResultState:
    """Everything the result of a study shows.

    Parameters
    ----------
    title
        What was studied.
    size
        Bad and good parts, repeats, readings.
    mark, verdict
        Shape and sentence: usable, not usable, or not finished.
    unfinished
        A caution while readings are missing; empty otherwise.
    blocks
        All together first, then one for each inspector, then pairs.
    legend
        How ranges and kappa are to be read; empty while there is nothing to read.
    unknown
        What is not known yet, a sentence each.
    chosen
        Whose rates the walk uses, who said so and when.
    offer
        The rates that "use" would choose, in words; empty when it cannot be used.
    can_take_back
        Whether the checklist's rates can be made to count again.
    saved
        What was just put on disk.
    problem
        What went wrong; empty when nothing did.
    """

    title: str = ""
    size: str = ""
    mark: str = ""
    verdict: str = ""
    unfinished: str = ""
    blocks: tuple[ResultBlock, ...] = ()
    legend: str = ""
    unknown: tuple[str, ...] = ()
    chosen: str = ""
    offer: str = ""
    can_take_back: bool = False
    saved: str = ""
    problem: str = ""


class StudyResultPage(Observed[StudyResultState]):
    """Presents the result of a study."""

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(StudyResultState())
        self.session = session
        self.route = route

    def open(self) -> None:
        """Work the result out."""
        self._later(lambda _: "")

    def use_rates(self) -> None:
        """Let the walk count with these rates; a second tap changes nothing."""

        def choose(now: StudyFacts) -> str:
            if now.is_chosen:
                return ""
            choose_rates(self.session.place, now)
            return tr("On disk: the walk uses these rates")

        self._later(choose)

    def take_back(self) -> None:
        """Let the checklist's rates count again."""

        def withdraw(now: StudyFacts) -> str:
            take_back_rates(self.session.place, now)
            return tr("On disk: the rates of the checklist count again")

        self._later(withdraw)

    def back(self) -> None:
        """Go back to the study."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error)))

    def _look(self) -> StudyFacts:
        return study_facts(self.session.place, self.route.concern, self.route.study)

    def _later(self, work: Callable[[StudyFacts], str]) -> None:
        def run() -> StudyResultState:
            saved = work(self._look())
            return replace(result_state(self._look()), saved=saved)

        self.session.run_later(run, self._show, self.fail)


def result_state(now: StudyFacts) -> StudyResultState:
    """Put the result of a study into words."""
    result = now.result
    bad = sum(part.known == "bad" for part in now.parts)
    can_use = now.is_finished and result.is_usable and not now.is_chosen
    return StudyResultState(
        title=study_title(now),
        size=tr(
            "{size} ({bad} bad, {good} good); {how_far}",
            size=size_text(now),
            bad=bad,
            good=len(now.parts) - bad,
            how_far=how_far_text(now),
        ),
        mark="undecided" if not now.is_finished else "clean" if result.is_usable else "bad",
        verdict=result.verdict if now.inspectors else tr("Nothing was judged yet."),
        unfinished=_unfinished_text(now),
        blocks=_blocks(now),
        legend=tr(LEGEND) if now.inspectors else "",
        unknown=_unknown(now),
        chosen=_chosen_text(now),
        offer=_offer_text(now) if can_use else "",
        can_take_back=now.chosen is not None,
    )


def _unfinished_text(now: StudyFacts) -> str:
    missing = [one for one in now.inspectors if now.done(one) < now.looks]
    if not missing:
        return ""
    return trn(
        "{missing} is not through: all of this may change, and the rates cannot be used before.",
        "{missing} are not through: all of this may change, and the rates cannot be used before.",
        len(missing),
        missing=named(missing),
    )


def _blocks(now: StudyFacts) -> tuple[ResultBlock, ...]:
    result = now.result
    if not now.inspectors:
        return ()
    blocks = []
    if len(now.inspectors) > 1:
        blocks.append(
            ResultBlock(
                title=tr("All together"),
                lines=_lines(
                    _rate_text(DETECTION, result.detection, share_from),
                    _rate_text(FALSE_ALARM, result.false_alarm, share_to),
                    _parts_text(tr("All readings alike"), result.between),
                    _parts_text(tr("All readings right"), result.with_answer),
                    _kappa_text(tr("Kappa of all readings (Fleiss)"), result.fleiss),
                ),
            )
        )
    blocks += [
        ResultBlock(
            title=one.inspector,
            lines=_lines(
                _rate_text(DETECTION, one.detection, share_from),
                _rate_text(FALSE_ALARM, one.false_alarm, share_to),
                _parts_text(tr("Alike each time"), one.within),
                _parts_text(tr("Right each time"), one.with_answer),
                _kappa_text(tr("Kappa with the known answer"), one.kappa),
            ),
        )
        for one in result.inspectors
    ]
    if result.pairs:
        blocks.append(
            ResultBlock(
                title=tr("Between inspectors"),
                lines=tuple(
                    _kappa_text(
                        tr("Kappa of {first} and {second}", first=pair.first, second=pair.second),
                        pair.kappa,
                    )
                    for pair in result.pairs
                ),
            )
        )
    return tuple(blocks)


def _lines(*lines: str) -> tuple[str, ...]:
    return tuple(line for line in lines if line)


def _rate_text(words: _RateWords, rate: NokRate | None, write: Callable[[float], str]) -> str:
    if rate is None:
        return tr(words.unknown)
    return trn(
        *words.said,
        rate.readings,
        rate=write(rate.part_mean),
        range=share_range(rate.by_part.low, rate.by_part.high),
        nok=rate.nok,
    )


def _parts_text(name: str, agreement: PartAgreement | None) -> str:
    if agreement is None:
        return ""
    interval = share_range(agreement.interval.low, agreement.interval.high)
    return trn(
        "{name}: {agreed} of {count} part ({interval})",
        "{name}: {agreed} of {count} parts ({interval})",
        agreement.parts,
        name=name,
        agreed=agreement.agreed,
        interval=interval,
    )


def _kappa_text(name: str, kappa: Kappa) -> str:
    if kappa.value is None:
        return tr("{name}: not known", name=name)
    value = two_decimals(kappa.value, ROUND_FLOOR)
    if kappa.by_part is None:
        return tr("{name}: {value}, range not known", name=name, value=value)
    low = two_decimals(kappa.by_part.low, ROUND_FLOOR)
    return tr(
        "{name}: {value} ({low} to {two_decimals})",
        name=name,
        value=value,
        low=low,
        two_decimals=two_decimals(kappa.by_part.high, ROUND_CEILING),
    )


def two_decimals(number: float, rounding: str) -> str:
    """Write a number with two decimals, cut towards the side that claims less.

    Examples
    --------
    >>> two_decimals(0.9167, ROUND_FLOOR), two_decimals(0.561, ROUND_CEILING)
    ('0.91', '0.57')
    """
    exact = Decimal(repr(float(number))).quantize(Decimal("0.01"), rounding=rounding)
    return decimal_text(f"{exact if exact else abs(exact)}")


def _unknown(now: StudyFacts) -> tuple[str, ...]:
    result = now.result
    if not now.inspectors:
        return ()
    kappas = [(one.inspector, one.kappa) for one in result.inspectors]
    kappas += [
        (tr("{first} and {second}", first=pair.first, second=pair.second), pair.kappa)
        for pair in result.pairs
    ]
    if len(now.inspectors) > 1:
        kappas.append((tr("all readings"), result.fleiss))
    said = []
    if len(now.inspectors) == 1:
        said.append(tr("Whether inspectors agree: only one has judged."))
    if now.study.repeats == 1:
        said.append(tr("Whether an inspector judges the same part alike twice: each part came once."))
    said += _reasons(kappas)
    if now.set_aside:
        said.append(
            trn(
                "Not counted: {count} reading, because two tablets took the same look (the first one "
                "counts), or the study has no such part.",
                "Not counted: {count} readings, because two tablets took the same look (the first one "
                "counts), or the study has no such part.",
                now.set_aside,
            )
        )
    said += result.notes
    said.append(
        tr(
            "How others would judge, and parts unlike these. A detection of at least 90 % takes "
            "{bad_parts_needed} bad parts without a miss (one-sided 95 %).",
            bad_parts_needed=bad_parts_needed(0.9),
        )
    )
    return tuple(said)


def _reasons(kappas: Iterable[tuple[str, Kappa]]) -> list[str]:
    """Say why a kappa or its range is missing; each reason once, with all whom it concerns."""
    by_reason: dict[str, list[str]] = {}
    for name, kappa in kappas:
        if kappa.reason is not None:
            by_reason.setdefault(kappa.reason, []).append(name)
    return [
        tr("Kappa, {names}. {reason}", names="; ".join(names), reason=reason)
        for reason, names in by_reason.items()
    ]


def _offer_text(now: StudyFacts) -> str:
    rates = now.result.rates
    if rates is None:
        return ""
    return tr(
        "detection {detection}, false alarm {false_alarm}",
        detection=percent(rates.detection),
        false_alarm=percent_at_most(rates.false_alarm),
    )


def _chosen_text(now: StudyFacts) -> str:
    chosen = now.chosen
    if chosen is None:
        check = now.check
        if check is None:
            return ""
        return tr(
            "The walk uses the checklist: detection {detection}, false alarm {false_alarm}.",
            detection=percent(check.detection),
            false_alarm=percent_at_most(check.false_alarm),
        )
    who = tr("chosen by {by}, {at}", by=chosen.by, at=moment_text(chosen.at))
    if now.is_chosen:
        return tr("The walk uses this study: {rates}; {who}.", rates=_rates_text(chosen), who=who)
    if chosen.study == now.study.id:
        return tr(
            "The walk uses what this study said before: {rates}; {who}.", rates=_rates_text(chosen), who=who
        )
    return tr("The walk uses another study: {rates}; {who}.", rates=_rates_text(chosen), who=who)


def _rates_text(chosen: RatesChosen) -> str:
    return tr(
        "detection {detection}, false alarm {false_alarm}",
        detection=percent(float(chosen.detection)),
        false_alarm=percent_at_most(float(chosen.false_alarm)),
    )
