"""How often audits found things as they should be: by layer, station and question."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from walkapp.analysis.audits.facts import AuditDone, Given
from walkapp.analysis.proportions import proportion_interval
from walkapp.analysis.results import Interval
from walkapp.language import msg

INTERVAL_NOTE = msg(
    "Conformity is OK of OK and NOK; N/A is counted beside it. Intervals are exact, "
    "two-sided 95 % (Clopper-Pearson). Answers on days that follow each other are not "
    "independent, so the interval is the least that chance alone explains."
)

OFTEN_NOT_APPLICABLE = 0.2
FEWEST_NOT_APPLICABLE = 3
"""A question is told apart when this share of its answers, and at least so many, are N/A: our own rule."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conformity:
    """Answers of audits, counted.

    Parameters
    ----------
    ok, nok, not_applicable
        Answers of each kind, 0 or more.
    interval
        Exact two-sided 95 % interval of the share OK; none without an answer OK or NOK.
    """

    ok: int
    nok: int
    not_applicable: int
    interval: Interval | None

    @property
    def judged(self) -> int:
        """Answers OK and NOK."""
        return self.ok + self.nok

    @property
    def answers(self) -> int:
        """All answers, N/A among them."""
        return self.ok + self.nok + self.not_applicable

    @property
    def share(self) -> float | None:
        """Share OK of the answers OK and NOK, 0 to 1; none without any."""
        return self.ok / self.judged if self.judged else None

    @property
    def share_not_applicable(self) -> float | None:
        """Share N/A of all answers, 0 to 1; none without any."""
        return self.not_applicable / self.answers if self.answers else None


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionConformity:
    """Answers to one question of one station.

    Parameters
    ----------
    ref, station
        What is asked, and the id of its station.
    asked
        The question as it was asked last.
    conformity
        The answers.
    """

    ref: str
    station: str
    asked: str
    conformity: Conformity

    @property
    def is_often_not_applicable(self) -> bool:
        """Whether it does not apply so often that this is told apart."""
        share = self.conformity.share_not_applicable or 0.0
        return share >= OFTEN_NOT_APPLICABLE and self.conformity.not_applicable >= FEWEST_NOT_APPLICABLE


@dataclass(frozen=True, slots=True, kw_only=True)
class ConformityResults:
    """Conformity of a stream over some days; each list lowest share first, what has none last.

    Parameters
    ----------
    all
        Over everything.
    by_layer, by_station
        By id.
    by_question
        By question and station, verification questions among them.
    """

    all: Conformity
    by_layer: Mapping[str, Conformity]
    by_station: Mapping[str, Conformity]
    by_question: tuple[QuestionConformity, ...]


def conformity_results(done: Iterable[AuditDone]) -> ConformityResults:
    """Count the answers that hold, of signed audits and of those still without signature.

    Parameters
    ----------
    done
        Audits with their answers, any order. Two audits for one place of the plan were two looks, and both
        count.
    """
    answers = [(audit, given) for audit in done for given in audit.given]
    newest: dict[str, tuple[datetime, str, str]] = {}
    for _, given in answers:
        newest[given.ref] = max(
            newest.get(given.ref, (given.at, "", "")), (given.at, given.id, given.asked)
        )
    by_ref = _by(answers, lambda _, given: given.ref)
    stations = {given.ref: given.station for _, given in answers}
    return ConformityResults(
        all=conformity_of([given.answer for _, given in answers]),
        by_layer=_by(answers, lambda audit, _: audit.layer),
        by_station=_by(answers, lambda _, given: given.station),
        by_question=tuple(
            QuestionConformity(ref=ref, station=stations[ref], asked=newest[ref][2], conformity=conformity)
            for ref, conformity in by_ref.items()
        ),
    )


def conformity_of(answers: Sequence[str]) -> Conformity:
    """Count answers: ``ok``, ``not_ok`` and ``not_applicable``.

    Examples
    --------
    16 of 20 OK: 80 %, and between 56 % and 95 % of all such answers.

    >>> found = conformity_of(["ok"] * 16 + ["not_ok"] * 4 + ["not_applicable"])
    >>> found.share, round(found.interval.low, 3), round(found.interval.high, 3)
    (0.8, 0.563, 0.943)
    """
    ok, nok = answers.count("ok"), answers.count("not_ok")
    return Conformity(
        ok=ok,
        nok=nok,
        not_applicable=len(answers) - ok - nok,
        interval=proportion_interval(ok, ok + nok) if ok + nok else None,
    )


def _by(
    answers: Iterable[tuple[AuditDone, Given]], key: Callable[[AuditDone, Given], str]
) -> dict[str, Conformity]:
    parts: dict[str, list[str]] = {}
    for audit, given in answers:
        parts.setdefault(key(audit, given), []).append(given.answer)
    found = {name: conformity_of(said) for name, said in parts.items()}
    return dict(sorted(found.items(), key=lambda one: _lowest_first(*one)))


def _lowest_first(name: str, found: Conformity) -> tuple[float, int, str]:
    share = found.share
    return (2.0 if share is None else share, -found.judged, name)
