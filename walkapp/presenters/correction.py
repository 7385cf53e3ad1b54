"""The fields for the facts of a concern, and the form that corrects them."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from walkapp.actions.concerns import DAY_LABELS, correct_concern, percent_of
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.analysis.readings import plain_number
from walkapp.errors import InputError
from walkapp.language import msg, tr, tr_choices
from walkapp.presenters.form import FormField, FormPage, whole_number
from walkapp.presenters.route import Route
from walkapp.presenters.wording import SEVERITY_WORDS

QUANTITY = msg("Parts reported by the customer")
LONGEST_PERCENT = 12


def fact_fields(
    days: tuple[tuple[str, str], ...], *, what: str = "", how: str = "", part_name: str = ""
) -> tuple[FormField, ...]:
    """Ask for the facts of a concern, besides value stream and defect.

    Parameters
    ----------
    days
        Days to tap, as pairs of day and word.
    what, how, part_name
        What stands in these fields while nobody has typed anything else.
    """
    return (
        FormField(
            name="severity",
            label=tr("Severity class"),
            form="choice",
            options=tr_choices(SEVERITY_WORDS.items()),
            is_required=True,
        ),
        FormField(name="what", label=tr("What is wrong, in one sentence"), value=what, is_required=True),
        FormField(name="how_to_judge", label=tr("How to judge a part OK or NOK"), value=how, lines=3),
        FormField(name="part_name", label=tr("Part name"), value=part_name),
        FormField(name="part_number", label=tr("Part number")),
        FormField(name="customer_reference", label=tr("Customer reference")),
        FormField(name="quantity", label=tr(QUANTITY), form="whole"),
        FormField(
            name="share_low",
            label=tr("Affected parts expected, at least (%)"),
            form="whole",
            hint=tr("Leave empty what is not known: a wrong range leads to a wrong answer."),
        ),
        FormField(name="share_high", label=tr("Affected parts expected, at most (%)"), form="whole"),
        *(
            FormField(
                name=name,
                label=label,
                form="day",
                options=days,
                hint="" if name == "reported_on" else tr("Of the parts that were reported"),
            )
            for name, label in tr_choices(DAY_LABELS.items())
        ),
        FormField(name="lots", label=tr("Lots reported"), hint=tr("As printed on the label")),
    )


def facts_said(values: Mapping[str, str]) -> dict[str, Any]:
    """Turn what was filled in into fields of the record.

    Raises
    ------
    InputError
        If a number is none, or the expected share is out of order.
    """
    said: dict[str, Any] = dict(values)
    said["quantity"] = whole_number(values["quantity"], tr(QUANTITY), 35)
    low, high = (_share(values[name]) for name in ("share_low", "share_high"))
    if not 0 <= (low or 0) <= (1 if high is None else high) <= 1:
        raise InputError(
            tr("Affected parts expected: 'at least' must not be above 'at most', and neither above 100 %.")
        )
    said["share_low"], said["share_high"] = ("" if x is None else format(x, "f") for x in (low, high))
    return said


def _share(percent: str) -> Decimal | None:
    """Read percent as a share with all its digits; none when nothing was typed."""
    if not percent:
        return None
    number = plain_number(percent) if len(percent) <= LONGEST_PERCENT else None
    if number is None or number < 0:
        raise InputError(tr("Affected parts expected (%): must be a number such as 10."))
    return number / 100


class CorrectConcernForm(FormPage):
    """Corrects the facts of a concern, and says why."""

    title = msg("Correct the concern")
    do = msg("Record the correction")
    _facts: ConcernFacts | None = None

    def _first_values(self) -> dict[str, str]:
        self._facts = concern_facts(self.session.place, self.route.concern)
        concern = self._facts.concern
        said = {field.name: getattr(concern, field.name) for field in fact_fields(())}
        return {
            **{name: str(value or "") for name, value in said.items()},
            "quantity": "" if concern.quantity is None else str(concern.quantity),
            "share_low": percent_of(concern.share_low),
            "share_high": percent_of(concern.share_high),
        }

    @property
    def _draft_name(self) -> str:
        # What was typed belongs to what held then: it must not undo what was corrected since.
        return f"{super()._draft_name} {self._facts.concern.id if self._facts else ''}"

    def _cautions(self) -> tuple[str, ...]:
        if self._facts is None:
            return ()
        concern, stream = self._facts.concern, self._facts.stream
        defect = stream.defect(concern.defect) if stream else None
        names = f"{stream.name if stream else concern.stream}, {defect.name if defect else concern.defect}"
        return (
            tr("Value stream and defect stay: {names}. Open a new concern for another one.", names=names),
        )

    def _fields(self) -> tuple[FormField, ...]:
        why = FormField(name="why", label=tr("Why is it corrected?"), is_required=True)
        return (*fact_fields(self._days()), why)

    def _keep(self, values: Mapping[str, str]) -> Route:
        if self._facts is None:
            raise InputError(tr("The concern is still being read; try again in a moment."))
        said = facts_said(values)
        for name in ("share_low", "share_high"):
            # Written in another way it would look like a change.
            held = getattr(self._facts.concern, name)
            if percent_of(held) == values[name]:
                said[name] = held
        correct_concern(self.session.place, self._facts, **said)
        return self.route.up()
