"""Making the defect on purpose: reproduction trials, and turning it on and off."""

from __future__ import annotations

from typing import ClassVar

from walkapp.errors import RecordError
from walkapp.model.records.base import Record, check_nok_of
from walkapp.model.schema import choice, decimal, flag, key, record_id, record_kind, text, whole

RESPONSES = ("nok", "value")
"""What a run gives: NOK parts of those checked, or one measured value."""

MOST_FACTORS = 5
MOST_RUNS = 400


@record_kind
class Trial(Record):
    """A reproduction trial: which factors, how many runs, in which order. Its own id is the trial's id."""

    kind: ClassVar[str] = "trial"
    title: ClassVar[str] = "Reproduction trials: making the defect on purpose"

    station: str = key("Id of the station where it is run", default="")
    what: str = text("What the trial is to show", longest=200)
    response: str = choice("What each run gives", RESPONSES)
    parts: int | None = whole(
        "Parts of each run, when NOK parts are counted", least=1, most=10_000, default=None
    )
    measured: str = text("What is measured in each run", longest=80, default="")
    unit_of_measure: str = text("Unit of the measured value", longest=20, default="")
    fraction: str = choice("All combinations of the levels, or half of them", ("full", "half"))
    replicates: int = whole("How often each combination is run", least=1, most=20)
    centres: int = whole("Runs at the centre point", least=0, most=20)
    seed: str = text("From which the random order of the runs is worked out", longest=80)
    invented: bool = flag("Whether it was made up for the demo and no real part was made", default=False)

    def _check_together(self) -> None:
        if (self.response == "nok") != (self.parts is not None):
            raise RecordError("parts must be given exactly when NOK parts are counted")
        if self.response == "value" and not self.measured:
            raise RecordError("measured is missing: say what is measured")


@record_kind
class TrialFactor(Record):
    """One factor of a reproduction trial with its two levels."""

    kind: ClassVar[str] = "trial_factor"
    title: ClassVar[str] = "Factors of reproduction trials, with their levels"

    trial: str = record_id("Id of the trial")
    order: int = whole("Place of the factor, from 1: A, B, ...", least=1, most=MOST_FACTORS)
    name: str = text("What is changed", longest=60)
    low: str = text("Level that is called low", longest=40)
    high: str = text("Level that is called high", longest=40)
    centre: str = text("Level half-way, when there are centre runs", longest=40, default="")
    change: str = record_id("Id of the change point that is suspected", default="")

    def _check_together(self) -> None:
        if self.low == self.high:
            raise RecordError("low and high must differ: a factor with one level shows nothing")


@record_kind
class TrialRun(Record):
    """What one run of a reproduction trial gave."""

    kind: ClassVar[str] = "trial_run"
    title: ClassVar[str] = "Runs of reproduction trials: NOK parts or a measured value"

    trial: str = record_id("Id of the trial")
    run: int = whole("Place in the random order, from 1", least=1, most=MOST_RUNS)
    checked: int | None = whole("Parts made and checked", least=1, most=10_000, default=None)
    nok: int | None = whole("Parts that were NOK", least=0, most=10_000, default=None)
    value: str = decimal("The measured value as it was typed", default="")

    def _check_together(self) -> None:
        if (self.checked is None) != (self.nok is None) or (self.checked is None) != bool(self.value):
            raise RecordError("either checked and nok or value must be given")
        if self.checked is not None and self.nok is not None:
            check_nok_of(self.nok, self.checked)


@record_kind
class Confirmation(Record):
    """An on/off confirmation: the suspected cause is switched on and off. Its own id is its id."""

    kind: ClassVar[str] = "confirmation"
    title: ClassVar[str] = "On/off confirmations: the suspected cause switched on and off"

    station: str = key("Id of the station where it is done", default="")
    what: str = text("What is switched", longest=200)
    on: str = text("What “on” means: the defect is to appear", longest=80)
    off: str = text("What “off” means: the defect is to go away", longest=80)
    response: str = choice("What each turn gives", RESPONSES)
    measured: str = text("What is measured in each turn", longest=80, default="")
    unit_of_measure: str = text("Unit of the measured values", longest=20, default="")
    change: str = record_id("Id of the change point that is suspected", default="")
    invented: bool = flag("Whether it was made up for the demo and no real part was made", default=False)

    def _check_together(self) -> None:
        if self.on == self.off:
            raise RecordError("on and off must differ")
        if self.response == "value" and not self.measured:
            raise RecordError("measured is missing: say what is measured")


@record_kind
class ConfirmationTurn(Record):
    """What came out while the suspected cause was on, or off: a count, or one measured value."""

    kind: ClassVar[str] = "confirmation_turn"
    title: ClassVar[str] = "Turns of on/off confirmations: what came out while it was on or off"

    confirmation: str = record_id("Id of the on/off confirmation")
    turn: int = whole("Which turn, from 1; several values may belong to one turn", least=1, most=40)
    state: str = choice("Whether it was on or off", ("on", "off"))
    checked: int | None = whole("Parts made and checked", least=1, most=10_000, default=None)
    nok: int | None = whole("Parts that were NOK", least=0, most=10_000, default=None)
    value: str = decimal("A measured value as it was typed", default="")

    def _check_together(self) -> None:
        if (self.checked is None) != (self.nok is None) or (self.checked is None) != bool(self.value):
            raise RecordError("either checked and nok or value must be given")
        if self.checked is not None and self.nok is not None:
            check_nok_of(self.nok, self.checked)
