"""The forms of inspection studies: opening one, and saying who judges next."""

from __future__ import annotations

import re
from collections.abc import Mapping

from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.studies import checks_to_study, inspector_called, open_study, study_facts
from walkapp.actions.workplace import NOBODY
from walkapp.analysis.study_plan import study_advice
from walkapp.errors import InputError
from walkapp.language import msg, tr, tr_choices, tr_each
from walkapp.presenters.form import FormField, FormPage
from walkapp.presenters.route import Route
from walkapp.presenters.studies import STUDY_CAUTIONS

INSPECTORS = 2
"""With how many inspectors the advice reckons before anybody has begun."""

REPEATS = {"1": msg("once"), "2": msg("twice"), "3": msg("3 times")}
LABEL_HINT = msg("The numbers on the parts, apart by commas or spaces; numbers in no order tell nothing")


class NewStudyForm(FormPage):
    """Opens a study."""

    title = msg("New inspection study")
    do = msg("Open this study")
    _facts: ConcernFacts | None = None

    def _first_values(self) -> dict[str, str]:
        self._facts = concern_facts(self.session.place, self.route.concern)
        by = self.session.place.by
        return {"by": "" if by == NOBODY else by, "repeats": "2"}

    def _cautions(self) -> tuple[str, ...]:
        return (
            tr("Take parts whose answer is settled, not guessed, bad ones of every degree among them."),
            *tr_each(STUDY_CAUTIONS[:1]),
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="by",
                label=tr("Your role and initials"),
                hint=tr("You enter the answers, so you cannot be an inspector"),
                is_required=True,
            ),
            FormField(
                name="check",
                label=tr("Which check"),
                form="choice",
                options=check_choices(self._facts),
                is_required=True,
            ),
            FormField(name="bad", label=tr("Parts known to be bad"), hint=tr(LABEL_HINT), is_required=True),
            FormField(
                name="good", label=tr("Parts known to be good"), hint=tr(LABEL_HINT), is_required=True
            ),
            FormField(
                name="repeats",
                label=tr("How often each inspector judges each part"),
                form="choice",
                options=tr_choices(REPEATS.items()),
                is_required=True,
            ),
        )

    def _advice(self) -> tuple[str, ...]:
        bad, good = (labels_in(self._values.get(name, "")) for name in ("bad", "good"))
        if not bad or not good:
            return ()
        twice = sorted({label for label in (*bad, *good) if (*bad, *good).count(label) > 1})
        said = (tr("Named twice: {twice}.", twice=", ".join(twice)),) if twice else ()
        repeats = self._values.get("repeats", "")
        advice = study_advice(len(bad), len(good), INSPECTORS, int(repeats) if repeats in REPEATS else 1)
        size = tr(
            "{bad} bad and {good} good parts: {readings} readings with {inspectors} inspectors.",
            bad=len(bad),
            good=len(good),
            readings=advice.readings,
            inspectors=INSPECTORS,
        )
        return (*said, size, *advice.sentences)

    def _keep(self, values: Mapping[str, str]) -> Route:
        self.session.remember_person(values["by"])
        station, _, check = values["check"].partition(" ")
        study = open_study(
            self.session.place,
            concern_facts(self.session.place, self.route.concern),
            station,
            check,
            bad=labels_in(values["bad"]),
            good=labels_in(values["good"]),
            repeats=int(values["repeats"]),
        )
        return Route(screen="study", concern=self.route.concern, study=study.id)


class InspectorForm(FormPage):
    """Asks who judges the parts next."""

    title = msg("Who judges the parts?")
    do = msg("Show me the first part")

    def _cautions(self) -> tuple[str, ...]:
        return (
            *tr_each(STUDY_CAUTIONS),
            tr("Say of each part what you see: it is the check that is studied, not the inspector."),
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="inspector",
                label=tr("Role and initials of the inspector"),
                hint=tr("For example OP-TB; no name"),
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        now = study_facts(self.session.place, self.route.concern, self.route.study)
        inspector = inspector_called(now, values["inspector"])
        if len(inspector) > 40:
            raise InputError(tr("Role and initials of the inspector: at most 40 characters are kept."))
        return Route(
            screen="reading", concern=self.route.concern, study=self.route.study, inspector=inspector
        )


def check_choices(facts: ConcernFacts | None) -> tuple[tuple[str, str], ...]:
    """Offer the checks that judge parts for the concern's defect: station and check, and words for both."""
    checks = checks_to_study(facts) if facts else ()
    stations = [station.id for station, _ in checks]
    return tuple(
        (
            f"{station.id} {check.id}",
            station.name if stations.count(station.id) == 1 else f"{station.name}: {check.title}",
        )
        for station, check in checks
    )


def labels_in(text: str) -> list[str]:
    """Take labels apart that were typed one after the other.

    Examples
    --------
    >>> labels_in("3, 7;12  A4")
    ['3', '7', '12', 'A4']
    """
    return [label for label in re.split(r"[\s,;]+", text) if label]
