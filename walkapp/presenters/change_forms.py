"""The forms of a change point: at the station, from the time line, and its correction.

Everything that is often said is there to tap, and the page moves on to the next question by itself, so
that a gloved hand records a change in seconds.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from walkapp.actions.changes import correct_change, find_change, roles_used
from walkapp.actions.days import today
from walkapp.actions.onset import date_onset
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.walking import Walking
from walkapp.language import day_words, msg, tr, tr_choices, tr_each
from walkapp.model.checklist import Station
from walkapp.model.records import what_is_said
from walkapp.presenters.change_words import (
    CHANGE_WORDS,
    CORRECTIONS,
    DAY_NOT_KNOWN,
    INTENTIONS,
    REASONS,
    ROLES,
    TOLD_WORDS,
    joined,
    taken_apart,
    wordings,
)
from walkapp.presenters.form import FormField, FormPage, as_options
from walkapp.presenters.route import Route

DAYS_OFFERED = 7
"""Today and the days of the week before it."""

MOST_ROLES = 6


class ChangeForm(FormPage):
    """Adds a change point at the station of the walk."""

    title = msg("What changed here?")
    do = msg("Record the change point")
    _facts: ConcernFacts | None = None

    def _known(self) -> ConcernFacts:
        """Give the concern as it was when the form opened."""
        if self._facts is None:
            self._facts = concern_facts(self.session.place, self.route.concern)
        return self._facts

    def _first_values(self) -> dict[str, str]:
        self._facts = self._sight.walk.facts if self._sight else None
        return {}

    def _station(self) -> Station | None:
        stream = self._sight.walk.stream if self._sight else self._known().stream
        return stream.station(self._values.get("station", self.route.station)) if stream else None

    def _fields(self) -> tuple[FormField, ...]:
        offered = self._wordings()
        return (
            FormField(
                name="change",
                label=tr("What kind of thing changed"),
                form="choice",
                options=tr_choices(CHANGE_WORDS),
                is_required=True,
            ),
            FormField(
                name="common",
                label=tr("What changed"),
                form="choice",
                options=as_options(offered),
                hint="" if offered else tr("Choose the kind first, or use your own words."),
                is_required=not self._values.get("what", "").strip(),
            ),
            FormField(name="what", label=tr("In your own words"), hint=tr("Which one, from what to what")),
            FormField(
                name="changed_on",
                label=tr("When"),
                form="day",
                options=self._days_of_week(),
                hint=tr("Or type it as {today}", today=today(self.session.place).isoformat()),
                is_required=True,
            ),
            FormField(
                name="customer_told",
                label=tr("Was the customer told?"),
                form="choice",
                value="unknown",
                options=tr_choices(TOLD_WORDS),
                is_required=True,
            ),
            FormField(
                name="meant_to",
                label=tr("What it was meant to do"),
                form="offered",
                options=as_options(tr_each(INTENTIONS)),
            ),
            FormField(
                name="reason",
                label=tr("Why it was changed"),
                form="offered",
                options=as_options(tr_each(REASONS)),
            ),
            FormField(
                name="approved_by",
                label=tr("Approved by (a role, never a name)"),
                form="offered",
                options=as_options(self._roles()),
            ),
        )

    def _wordings(self) -> tuple[str, ...]:
        station = self._station()
        return wordings(self._values.get("change", ""), station.kind if station else "")

    def _roles(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys((*roles_used(self._known()), *tr_each(ROLES))))[:MOST_ROLES]

    def _days_of_week(self) -> tuple[tuple[str, str], ...]:
        now = today(self.session.place)
        days = [now - timedelta(days=back) for back in range(DAYS_OFFERED)]
        names = [tr("today"), tr("yesterday")]
        names += [day_words(day) for day in days[2:]]
        known = [(day.isoformat(), name) for day, name in zip(days, names, strict=True)]
        return (*known, (tr(DAY_NOT_KNOWN), tr(DAY_NOT_KNOWN)))

    def _next_field(self, name: str, value: str) -> str:
        fields = self._fields()
        place = next(i for i, field in enumerate(fields) if field.name == name)
        if value not in {word for word, _ in fields[place].options}:
            return ""  # it is being typed
        return next((field.name for field in fields[place + 1 :] if field.options), "")

    def _said(self, values: Mapping[str, str]) -> dict[str, str]:
        """Turn what was filled in into the fields of the record."""
        said = {"station": self.route.station, **values}
        said["what"] = joined(said.pop("common"), values["what"])
        if said["changed_on"] == tr(DAY_NOT_KNOWN):
            said["changed_on"] = ""
        return said

    def _keep(self, values: Mapping[str, str]) -> Route:
        walking = Walking(self.session.place, self.route.concern, self.route.walk)
        walking.report_change(**self._said(values))
        return self.route.up()


class NewChangeForm(ChangeForm):
    """Adds a change point of any station, outside a walk."""

    title = msg("What changed?")
    is_in_walk = False

    def _first_values(self) -> dict[str, str]:
        super()._first_values()
        first_bad = date_onset(self._known()).first_bad
        return {"station": self.route.station or (first_bad.id if first_bad else "")}

    def _fields(self) -> tuple[FormField, ...]:
        return (self._station_field(), *super()._fields())

    def _station_field(self) -> FormField:
        return FormField(
            name="station",
            label=tr("Station"),
            form="choice",
            options=tuple((s.id, s.name) for s in self._known().known_stream().stations),
            is_required=True,
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        Walking(self.session.place, self.route.concern, "").report_change(**self._said(values))
        return self.route.up()


class CorrectChangeForm(NewChangeForm):
    """Corrects a change point; the first one stays on record."""

    title = msg("Correct the change point")
    do = msg("Record the correction")

    def _first_values(self) -> dict[str, str]:
        self._facts = None
        point = find_change(self.session.place, self._known(), self.route.entry)
        said = {name: str(value) for name, value in what_is_said(point).items()}
        self._values = said  # the wordings depend on station and kind
        said["common"], said["what"] = taken_apart(point.what, self._wordings())
        said["changed_on"] = point.changed_on or tr(DAY_NOT_KNOWN)
        return said

    def _fields(self) -> tuple[FormField, ...]:
        why = FormField(
            name="why",
            label=tr("Why it is corrected"),
            form="offered",
            options=as_options(tr_each(CORRECTIONS)),
            is_required=True,
        )
        return (why, *super()._fields())

    def _keep(self, values: Mapping[str, str]) -> Route:
        said = self._said(values)
        why = said.pop("why")
        facts = concern_facts(self.session.place, self.route.concern)
        correct_change(self.session.place, facts, self.route.entry, why=why, **said)
        return self.route.up()
