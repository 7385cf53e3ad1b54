"""The forms of a walk: lot, note, and the reason for N/A."""

from __future__ import annotations

from collections.abc import Mapping

from walkapp.actions.reading import walk_facts
from walkapp.actions.walking import Walking
from walkapp.language import msg, tr, tr_each
from walkapp.presenters.form import FormField, FormPage, as_options
from walkapp.presenters.route import Route

REASONS = (
    msg("no parts here"),
    msg("station not running"),
    msg("gauge not here"),
    msg("not allowed by site rules"),
)


class WalkForm(FormPage):
    """A form on which something is recorded for the station of the walk."""

    @property
    def _walking(self) -> Walking:
        return Walking(self.session.place, self.route.concern, self.route.walk)


class SampleForm(WalkForm):
    """Says where the parts at a station come from."""

    title = msg("Which parts are these?")
    do = msg("Record the lot")

    def _first_values(self) -> dict[str, str]:
        sample = self._sight.walk.sample(self.route.station) if self._sight else None
        return {"lot": sample.lot, "made_on": sample.made_on} if sample else {}

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(name="lot", label=tr("Lot"), hint=tr("As printed on the label")),
            FormField(name="made_on", label=tr("Production date"), form="day", options=self._days()),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        now = walk_facts(self.session.place, self.route.concern, self.route.walk)
        self._walking.say_sample(now, self.route.station, values["lot"], values["made_on"])
        return self.route.up()


class NoteForm(WalkForm):
    """Adds a note."""

    title = msg("Note")
    do = msg("Record the note")

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(name="words", label=tr("What was seen or heard here"), lines=4, is_required=True),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        self._walking.note(self.route.station, values["words"])
        return self.route.up()


class ReasonForm(WalkForm):
    """Asks why a check does not apply."""

    title = msg("Why does this check not apply?")
    do = msg("Record N/A")

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="common",
                label=tr("Reason"),
                form="choice",
                options=as_options(tr_each(REASONS)),
            ),
            FormField(
                name="reason",
                label=tr("Or in your own words"),
                is_required=not self._values.get("common"),
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        reason = values["reason"] or values["common"]
        now = walk_facts(self.session.place, self.route.concern, self.route.walk)
        self._walking.set_aside(now, self.route.station, self.route.check, reason)
        return Route(
            screen="station",
            concern=self.route.concern,
            walk=self.route.walk,
            station=self.route.station,
        )
