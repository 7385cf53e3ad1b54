"""The form that opens a reproduction trial."""

from __future__ import annotations

from collections.abc import Mapping

from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.actions.trial_work import FactorSaid, open_trial
from walkapp.analysis.factorial_plan import LETTERS, Design
from walkapp.analysis.factorial_words import cannot_prove
from walkapp.analysis.wording import FRACTION_WORDS
from walkapp.errors import InputError
from walkapp.language import msg, tr, tr_choices, tr_each, trn
from walkapp.model.records import ChangePoint
from walkapp.presenters.form import FormField, FormPage, as_options, whole_number
from walkapp.presenters.route import Route
from walkapp.presenters.trials import RELEASED_CAUTION, TRIAL_CAUTIONS
from walkapp.presenters.wording import parts_in_words
from walkapp.visible import in_short

FACTORS = ("1", "2", "3", "4", "5")
REPLICATES = ("1", "2", "3", "4", "6", "8")
CENTRES = (("0", msg("None")), ("3", msg("3 runs")), ("5", msg("5 runs")))
RESPONSES = (("nok", msg("NOK parts")), ("value", msg("A measured value")))

AS_BEFORE, AS_CHANGED = msg("as before"), msg("as changed")
"""Levels that are offered for a recorded change."""

PARTS = "20"
MOST_CHANGES = 8
"""Newest change points that are offered."""

_LONGEST_NAME = 60
_MOST_DIGITS = 5


class NewTrialForm(FormPage):
    """Opens a trial; says what it takes and what it can show before it is opened."""

    title = msg("New reproduction trial")
    do = msg("Open this trial")
    is_in_walk = False
    _facts: ConcernFacts | None = None

    def fill(self, name: str, value: str) -> None:
        """Fill in a field; a recorded change names its factor and the two levels."""
        if name.startswith("change_") and (change := self._changes().get(value)) is not None:
            letter = name.removeprefix("change_")
            self._values |= {
                f"name_{letter}": in_short(change.what, _LONGEST_NAME),
                f"low_{letter}": self._values.get(f"low_{letter}") or tr(AS_BEFORE),
                f"high_{letter}": self._values.get(f"high_{letter}") or tr(AS_CHANGED),
            }
        super().fill(name, value)

    def _first_values(self) -> dict[str, str]:
        self._facts = concern_facts(self.session.place, self.route.concern)
        return {
            "what": tr("What makes it: {what}", what=self._facts.concern.what)[:200],
            "factors": "2",
            "response": "nok",
            "parts": PARTS,
            "fraction": "full",
            "replicates": "3",
            "centres": "0",
        }

    def _changes(self) -> Mapping[str, ChangePoint]:
        current = self._facts.standing.current if self._facts else ()
        points = [record for record in current if isinstance(record, ChangePoint)]
        return {point.id: point for point in reversed(points[-MOST_CHANGES:])}

    def _cautions(self) -> tuple[str, ...]:
        return (*tr_each(TRIAL_CAUTIONS), tr(RELEASED_CAUTION))

    def _fields(self) -> tuple[FormField, ...]:
        stations = self._facts.stream.stations if self._facts and self._facts.stream else ()
        counts = self._values.get("response", "") != "value"
        return (
            FormField(name="what", label=tr("What the trial is to show"), is_required=True),
            FormField(
                name="station",
                label=tr("At which station"),
                form="choice",
                options=tuple((station.id, station.name) for station in stations),
            ),
            FormField(
                name="factors",
                label=tr("How many factors are changed"),
                form="choice",
                options=as_options(FACTORS),
                is_required=True,
            ),
            *(field for letter in self._letters for field in self._factor_fields(letter)),
            FormField(
                name="response",
                label=tr("What each run gives"),
                form="choice",
                options=tr_choices(RESPONSES),
                is_required=True,
            ),
            *(self._count_fields() if counts else self._value_fields()),
            *((self._fraction_field(),) if len(self._letters) >= 4 else ()),
            FormField(
                name="replicates",
                label=tr("How often each combination is run"),
                form="choice",
                options=tuple((n, _times(int(n))) for n in REPLICATES),
                is_required=True,
            ),
            FormField(
                name="centres",
                label=tr("Runs half-way between low and high"),
                form="choice",
                options=tr_choices(CENTRES),
                hint=tr("They show whether the way from low to high is straight"),
                is_required=True,
            ),
        )

    def _count_fields(self) -> tuple[FormField, ...]:
        return (FormField(name="parts", label=tr("Parts in each run"), form="whole", is_required=True),)

    def _value_fields(self) -> tuple[FormField, ...]:
        return (
            FormField(name="measured", label=tr("What is measured"), is_required=True),
            FormField(name="unit", label=tr("Its unit"), hint=tr("For example mm")),
        )

    def _fraction_field(self) -> FormField:
        return FormField(
            name="fraction",
            label=tr("Which combinations are run"),
            form="choice",
            options=tr_choices(FRACTION_WORDS.items()),
            is_required=True,
        )

    def _factor_fields(self, letter: str) -> tuple[FormField, ...]:
        changes = tuple(
            (change.id, in_short(change.what, _LONGEST_NAME)) for change in self._changes().values()
        )
        has_centre = self._values.get("centres", "0") != "0"
        return (
            *(
                (
                    FormField(
                        name=f"change_{letter}",
                        label=tr("Factor {letter}: a recorded change?", letter=letter),
                        form="choice",
                        options=changes,
                    ),
                )
                if changes
                else ()
            ),
            FormField(
                name=f"name_{letter}",
                label=tr("Factor {letter}: what is changed", letter=letter),
                hint=tr("For example clamp pads"),
                is_required=True,
            ),
            FormField(
                name=f"low_{letter}",
                label=tr("{letter} low", letter=letter),
                hint=tr("For example old pads"),
                is_required=True,
            ),
            FormField(
                name=f"high_{letter}",
                label=tr("{letter} high", letter=letter),
                hint=tr("For example hard pads"),
                is_required=True,
            ),
            *(
                (
                    FormField(
                        name=f"centre_{letter}",
                        label=tr("{letter} half-way", letter=letter),
                        is_required=True,
                    ),
                )
                if has_centre
                else ()
            ),
        )

    @property
    def _letters(self) -> str:
        typed = self._values.get("factors", "")
        return LETTERS[: int(typed)] if typed in FACTORS else ""

    def _design(self) -> Design:
        # A draft may hold what an older version offered.
        replicates, centres = (self._values.get(name, "") for name in ("replicates", "centres"))
        return Design(
            len(self._letters),
            len(self._letters) >= 4 and self._values.get("fraction") == "half",
            int(replicates) if replicates in REPLICATES else 1,
            int(centres) if centres in dict(CENTRES) else 0,
        )

    def _advice(self) -> tuple[str, ...]:
        try:
            design = self._design()
        except InputError as error:
            return (str(error),)
        parts = self._values.get("parts", "")[:_MOST_DIGITS]
        size = trn("{count} run in a random order.", "{count} runs in a random order.", design.runs)
        if self._values.get("response") != "value" and parts.isascii() and parts.isdigit() and int(parts):
            size = trn(
                "{count} run in a random order, {parts} each: {in_all} in all.",
                "{count} runs in a random order, {parts} each: {in_all} in all.",
                design.runs,
                parts=parts_in_words(int(parts)),
                in_all=parts_in_words(design.runs * int(parts)),
            )
        strength = cannot_prove(design) or (
            tr("So many runs can prove that a factor makes a difference, if it is a large one.")
        )
        return tuple(line for line in (size, strength, design.alias_summary) if line)

    def _keep(self, values: Mapping[str, str]) -> Route:
        design = self._design()
        is_counted = values["response"] == "nok"
        factors = [
            FactorSaid(
                name=values[f"name_{letter}"],
                low=values[f"low_{letter}"],
                high=values[f"high_{letter}"],
                centre=values.get(f"centre_{letter}", ""),
                change=values.get(f"change_{letter}", ""),
            )
            for letter in self._letters
        ]
        facts = concern_facts(self.session.place, self.route.concern)
        trial = open_trial(
            self.session.place,
            facts,
            factors,
            what=values["what"],
            station=values.get("station", ""),
            parts=whole_number(values["parts"], tr("Parts in each run"), 20) if is_counted else None,
            measured=values.get("measured", ""),
            unit=values.get("unit", ""),
            is_half=design.is_half,
            replicates=design.replicates,
            centres=design.centres,
        )
        return Route(screen="trial", concern=self.route.concern, entry=trial.id)


def _times(count: int) -> str:
    return tr("once") if count == 1 else trn("{count} time", "{count} times", count)
