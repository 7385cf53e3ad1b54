"""The forms of success factors: stating one, correcting it, taking it back."""

from __future__ import annotations

from collections.abc import Mapping

from walkapp.actions.desk import DeskFacts, desk_facts
from walkapp.actions.indicators.factors import (
    correct_factor,
    find_factor,
    follow_factor,
    read_target,
    state_factor,
    take_factor_back,
)
from walkapp.actions.indicators.gathering import StreamCases, stream_cases
from walkapp.actions.indicators.offers import OFFERS
from walkapp.actions.indicators.telling import WORDS
from walkapp.actions.reading import all_concerns
from walkapp.analysis.indicators.fixed_set import DAYS, INDICATORS, Indicator
from walkapp.analysis.indicators.words import target_words, with_unit
from walkapp.analysis.wording import capital
from walkapp.errors import InputError
from walkapp.language import decimal_text, msg, tr, tr_each
from walkapp.model.records import SuccessFactor
from walkapp.presenters.action_forms import roles_used
from walkapp.presenters.desk.indicators import now_words
from walkapp.presenters.form import FormField, FormPage, as_options
from walkapp.presenters.route import Route

CORRECTIONS = (
    msg("a stricter target"),
    msg("a target that can be reached"),
    msg("said more exactly"),
    msg("a mistake"),
)
"""Reasons to correct a success factor, to tap."""

ENDINGS = (
    msg("no longer what matters"),
    msg("another indicator watches it"),
    msg("stated twice"),
    msg("a mistake"),
)
"""Reasons to take one back, to tap."""

ROLES = ("SL", "QE", "TL", "QM", "PM")
"""Roles that are offered beside those that actions were given to."""

MOST_ROLES = 6


class FactorForm(FormPage):
    """A form about a success factor; it holds what is known of the stream while it is open."""

    is_in_walk = False
    _desk: DeskFacts
    _cases: StreamCases
    _indicator: Indicator
    _roles: tuple[str, ...] = ()
    _now = ""

    def _read(self) -> DeskFacts:
        place = self.session.place
        self._desk = desk_facts(place, self.route.stream, all_concerns(place))
        return self._desk

    def _read_factor(self) -> SuccessFactor:
        return follow_factor(self.session.place, self._read(), self.route.layer)

    def _watch(self, indicator: str) -> None:
        """Look at what the indicator says today."""
        found = INDICATORS.get(indicator)
        if found is None:
            raise InputError(
                tr(
                    "The indicator {indicator} is not known to this version; bring walkapp up to date.",
                    indicator=repr(indicator),
                )
            )
        self._indicator = found
        self._cases = stream_cases(self.session.place, self._desk)
        self._now = now_words(found, self._cases)
        own = roles_used(self.session.place.by, self._desk.concerns)
        self._roles = tuple(dict.fromkeys((*own, *ROLES)))[:MOST_ROLES]


class NewFactorForm(FactorForm):
    """States what has to go right; the indicator was chosen before."""

    title = msg("Success factor")
    do = msg("State it")

    def _first_values(self) -> dict[str, str]:
        self._read()
        self._watch(self.route.check)
        offer = OFFERS[self._indicator.id]
        return {name: value for name, value in offer.said().items() if name != "indicator"}

    def _words(self) -> tuple[str, ...]:
        indicator = self._indicator
        return (
            tr("Watched by: {indicator}. {now}", indicator=tr(indicator.name), now=self._now),
            tr("How it is counted: {counts}", counts=tr(indicator.counts)),
            tr("It does not know: {unknown}", unknown=tr(indicator.unknown)),
        )

    def _fields(self) -> tuple[FormField, ...]:
        indicator = self._indicator
        return (
            FormField(
                name="factor",
                label=tr("What has to go right"),
                hint=tr(self._hint),
                lines=2,
                is_required=True,
            ),
            FormField(
                name="target",
                label=_target_label(indicator),
                form="offered",
                options=tuple(
                    (one, with_unit(indicator, decimal_text(one), is_one=one == "1"))
                    for one in indicator.targets
                ),
                is_required=True,
            ),
            FormField(
                name="when_off",
                label=tr("What is done when it is off"),
                hint=tr(self._hint),
                lines=2,
                is_required=True,
            ),
            FormField(
                name="owner",
                label=tr("Who sees to it"),
                form="offered",
                options=as_options(self._roles),
                hint=tr("Role or initials, never a name"),
            ),
        )

    _hint = msg("Common practice, no source: change it to your own words")

    def _advice(self) -> tuple[str, ...]:
        try:
            target = read_target(self._indicator, self._values.get("target", ""))
        except InputError:
            return ()
        state = self._indicator.judge(self._cases, self._cases.on, target).state
        return (
            tr(
                "{target}: today that is {words}.",
                target=capital(target_words(self._indicator, target)),
                words=tr(WORDS[state]),
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        desk = self._read()
        state_factor(self.session.place, desk, indicator=self.route.check, **values)
        return Route(screen="indicators", stream=self.route.stream, concern=desk.book)


class CorrectFactorForm(NewFactorForm):
    """Corrects a success factor; what it said before stays on record."""

    title = msg("Correct this success factor")
    do = msg("Record the correction")
    _hint = ""

    def _first_values(self) -> dict[str, str]:
        factor = self._read_factor()
        self._watch(factor.indicator)
        return {name: getattr(factor, name) for name in ("factor", "target", "when_off", "owner")}

    def _fields(self) -> tuple[FormField, ...]:
        return (*super()._fields(), _why_field(tr("Why it is corrected"), tr_each(CORRECTIONS)))

    def _keep(self, values: Mapping[str, str]) -> Route:
        factor = self._read_factor()
        made = correct_factor(self.session.place, self._desk, factor.id, **values)
        return Route(screen="factor", stream=self.route.stream, concern=self._desk.book, layer=made.id)


class DropFactorForm(FactorForm):
    """Takes a success factor back."""

    title = msg("Take this success factor back")
    do = msg("Take it back")
    _said = ""

    def _first_values(self) -> dict[str, str]:
        self._said = self._read_factor().factor
        return {}

    def _words(self) -> tuple[str, ...]:
        return (self._said, tr("It stays on record, and is watched no more. Undo brings it back."))

    def _fields(self) -> tuple[FormField, ...]:
        return (_why_field(tr("Why"), tr_each(ENDINGS)),)

    def _keep(self, values: Mapping[str, str]) -> Route:
        factor = find_factor(self._read(), self._read_factor().id)
        take_factor_back(self.session.place, self._desk, factor.id, values["why"])
        return Route(screen="indicators", stream=self.route.stream, concern=self._desk.book)


def _target_label(indicator: Indicator) -> str:
    unit = tr("days") if indicator.unit == DAYS else indicator.unit
    if indicator.more_is_better:
        return tr("Target: at least so many {unit}", unit=unit) if unit else tr("Target: at least so many")
    return tr("Target: at most so many {unit}", unit=unit) if unit else tr("Target: at most so many")


def _why_field(label: str, reasons: tuple[str, ...]) -> FormField:
    return FormField(
        name="why",
        label=label,
        form="offered",
        options=as_options(reasons),
        is_required=True,
    )
