"""The forms around a concern: opening it, saying what is suspected, beginning a walk."""

from __future__ import annotations

from collections.abc import Mapping

from walkapp.actions.reading import concern_facts, walk_facts
from walkapp.actions.walking import open_concern, start_walk, weigh_station
from walkapp.actions.workplace import NOBODY
from walkapp.analysis.wording import DIRECTION_WORDS
from walkapp.language import msg, tr, tr_choices, tr_each
from walkapp.presenters.correction import fact_fields, facts_said
from walkapp.presenters.form import FormField, FormPage
from walkapp.presenters.route import Route

SITE_CAUTIONS = (
    msg("Site rules, customer-specific requirements and qualified people come before this tool."),
    msg("Wear the protective equipment of the area and keep to the walkways."),
    msg("Never reach into running or locked-out equipment; treat parts and tools as hot until you know."),
    msg("No photo where it is forbidden; no people in pictures without their consent."),
)


class NewConcernForm(FormPage):
    """Opens a concern."""

    title = msg("New concern")
    do = msg("Open this concern")

    def _first_values(self) -> dict[str, str]:
        streams = self.session.place.streams()
        return {"stream": next(iter(streams))} if len(streams) == 1 else {}

    def _fields(self) -> tuple[FormField, ...]:
        streams = self.session.place.streams()
        stream = streams.get(self._values.get("stream", ""))
        defects = stream.defects if stream else ()
        chosen = next((d for d in defects if d.id == self._values.get("defect", "")), None)
        return (
            FormField(
                name="stream",
                label=tr("Value stream"),
                form="choice",
                options=tuple((s.id, s.name) for s in streams.values()),
                is_required=True,
            ),
            FormField(
                name="defect",
                label=tr("Defect"),
                form="choice",
                options=tuple((d.id, d.name) for d in defects),
                hint="" if stream else tr("Choose the value stream first."),
                is_required=True,
            ),
            *fact_fields(
                self._days(),
                what=chosen.name if chosen else "",
                how=chosen.how if chosen else "",
                part_name=stream.product if stream else "",
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        concern = open_concern(self.session.place, **facts_said(values))
        return Route(screen="concern", concern=concern.concern)


WEIGHTS = (
    ("10", msg("10 times as likely")),
    ("3", msg("3 times as likely")),
    ("1", msg("as likely as another")),
    ("0.3", msg("a third as likely")),
    ("0.1", msg("a tenth as likely")),
)


class StationWeightForm(FormPage):
    """Records which station somebody suspects before the counts speak."""

    title = msg("Suspected station")
    do = msg("Record this suspicion")

    def _cautions(self) -> tuple[str, ...]:
        return (
            tr("Without a word here every station is equally likely; a suspicion shifts the answer."),
            tr("Say only what you know apart from the parts that are counted, and why."),
        )

    def _fields(self) -> tuple[FormField, ...]:
        facts = concern_facts(self.session.place, self.route.concern)
        return (
            FormField(
                name="station",
                label=tr("Station"),
                form="choice",
                options=tuple((s.id, s.name) for s in facts.known_stream().stations),
                is_required=True,
            ),
            FormField(
                name="weight",
                label=tr("That the defect starts there is"),
                form="choice",
                options=tr_choices(WEIGHTS),
                is_required=True,
            ),
            FormField(name="reason", label=tr("Why"), lines=2, is_required=True),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        facts = concern_facts(self.session.place, self.route.concern)
        weigh_station(self.session.place, facts, values["station"], values["weight"], values["reason"])
        return self.route.up()


class StartWalkForm(FormPage):
    """Begins a walk: the cautions of the site come first."""

    title = msg("Start a walk")
    do = msg("Cautions read, start the walk")

    def _first_values(self) -> dict[str, str]:
        by = self.session.place.by
        return {"by": "" if by == NOBODY else by, "direction": "guided"}

    def _cautions(self) -> tuple[str, ...]:
        facts = concern_facts(self.session.place, self.route.concern)
        return facts.stream.cautions if facts.stream and facts.stream.cautions else tr_each(SITE_CAUTIONS)

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="by",
                label=tr("Your role and initials"),
                hint=tr("For example QE-AB; no name"),
                is_required=True,
            ),
            FormField(
                name="direction",
                label=tr("How to walk"),
                form="choice",
                options=tr_choices(DIRECTION_WORDS.items()),
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        self.session.remember_person(values["by"])
        facts = concern_facts(self.session.place, self.route.concern)
        walk = start_walk(self.session.place, facts, values["direction"])
        first = walk_facts(self.session.place, self.route.concern, walk.id).resume_station
        return Route(screen="station", concern=self.route.concern, walk=walk.id, station=first)
