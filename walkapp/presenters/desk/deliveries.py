"""Typing in what was delivered in a month, correcting it and taking it back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from walkapp.actions.days import today
from walkapp.actions.deliveries import record_deliveries, standing_deliveries, take_out_deliveries
from walkapp.actions.desk import desk_facts
from walkapp.actions.ppm import StreamPpm, ppm_of
from walkapp.actions.ppm_months import index_of, month_at
from walkapp.actions.ppm_telling import month_line, record_origin, record_words
from walkapp.analysis.deliveries import MONTH_EXAMPLE, month_problem, read_month
from walkapp.errors import InputError, RecordError
from walkapp.language import month_words, msg, tr, tr_each
from walkapp.model.records import Deliveries, what_is_said
from walkapp.presenters.form import FormField, FormPage, as_options, whole_number
from walkapp.presenters.route import Route

MONTH, DELIVERED = msg("Month"), msg("Parts delivered")
CUSTOMER_NOK = msg("NOK parts, as the customer counts them")
REASONS = (msg("typed wrong"), msg("the customer corrected it"), msg("deliveries added later"))
TAKE_OUT_REASONS = (msg("recorded twice"), msg("the wrong value stream"), msg("typed wrong"))
MOST_MONTHS = 6
MOST_NUMBERS = 6
_MONTHS_BACK = 13


class DeliveriesForm(FormPage):
    """Records how many parts went out in a month, or corrects it."""

    title = msg("Deliveries of a month")
    do = msg("Record it")
    is_in_walk = False
    _found: StreamPpm | None = None
    _earlier: Deliveries | None = None

    def _first_values(self) -> dict[str, str]:
        place = self.session.place
        facts = desk_facts(place, self.route.stream)
        self._found = ppm_of(facts, today(place))
        if self.route.entry:
            self._earlier = next((r for r in facts.kept(Deliveries) if r.id == self.route.entry), None)
            if self._earlier is None:
                raise InputError(tr("This entry holds no longer: it was corrected or taken back."))
            self.title, self.do = tr("Correct the deliveries"), tr("Record the correction")
            said = what_is_said(self._earlier)
            return {
                **{name: "" if value is None else str(value) for name, value in said.items()},
                "month": self._earlier.month[:7],
            }
        month = self.route.day[:7] or next((word for word, _ in self._months()), "")
        return {"month": month, "part_number": self.route.unit}

    def _words(self) -> tuple[str, ...]:
        if self._found is None:
            return ()
        name = f"{self._found.facts.name}."
        return (name, record_origin(self._earlier)) if self._earlier else (name,)

    def _other_words(self) -> str:
        return tr("Take it back") if self._earlier else ""

    def other(self) -> None:
        """Take the entry back instead of correcting it."""
        if self._earlier is not None:
            self.session.go(replace(self.route, screen="take_out_deliveries"))

    def _fields(self) -> tuple[FormField, ...]:
        here = self._here
        return (
            FormField(
                name="month",
                label=tr(MONTH),
                form="offered",
                options=self._months(),
                hint=tr("Such as {month_example}", month_example=MONTH_EXAMPLE),
                is_required=True,
            ),
            FormField(
                name="delivered",
                label=tr(DELIVERED),
                form="whole",
                hint=tr("Recorded: {record}", record=record_words(here))
                if here and not self._earlier
                else "",
                is_required=True,
            ),
            FormField(
                name="customer_nok",
                label=tr(CUSTOMER_NOK),
                form="whole",
                hint=tr("Empty: those of the concerns are counted"),
            ),
            FormField(
                name="part_number",
                label=tr("Part number"),
                form="offered",
                options=self._numbers(),
                hint=tr("Empty for all parts of the value stream"),
            ),
            *(self._why_fields() if here or self._earlier else ()),
        )

    def _why_fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="why",
                label=tr("Why is it corrected?"),
                form="offered",
                options=as_options(tr_each(REASONS)),
                hint=tr("What stood there before is kept."),
                is_required=True,
            ),
        )

    def _advice(self) -> tuple[str, ...]:
        """Say what ppm would come of it."""
        found, month = self._found, self._month
        if found is None or month is None:
            return ()
        if problem := month_problem(month, self._values.get("month", ""), found.today):
            return (f"{problem[0]}; {problem[1]}.",)
        looked = ppm_of(found.facts, found.today, part_number=self._values.get("part_number", ""))
        delivered = self._typed_number("delivered")
        if delivered is None:
            return (
                tr(
                    "{month} so far: {month_line}.",
                    month=month_words(month),
                    month_line=month_line(looked.month(month)),
                ),
            )
        try:
            supposed = looked.supposing(month, delivered, self._typed_number("customer_nok"))
        except RecordError:
            return ()  # such as a part number that is too long: it is said when it is to be recorded
        return (tr("With this: {month_line}.", month_line=month_line(supposed)),)

    def _months(self) -> tuple[tuple[str, str], ...]:
        """Offer the newest months that are over and not recorded yet, and the present one."""
        if self._found is None:
            return ()
        now = index_of(self._found.today)
        each = [month_at(index) for index in range(now - 1, max(now - _MONTHS_BACK, 12) - 1, -1)]
        number = self.route.unit
        missing = [m for m in each if not standing_deliveries(self._found.facts, m, number)]
        chosen = [*(missing or each)[:MOST_MONTHS], month_at(now)]
        if self._earlier is not None:
            own = date.fromisoformat(self._earlier.month)
            chosen = [own, *(one for one in chosen if one != own)]
        return tuple((month.isoformat()[:7], month_words(month)) for month in chosen)

    def _numbers(self) -> tuple[tuple[str, str], ...]:
        numbers = self._found.part_numbers[:MOST_NUMBERS] if self._found else ()
        return as_options(numbers)

    @property
    def _month(self) -> date | None:
        return read_month(self._values.get("month", ""))

    @property
    def _here(self) -> Deliveries | None:
        """The record that counts for the month and part number that are filled in."""
        month = self._month
        if self._found is None or month is None:
            return None
        here = standing_deliveries(self._found.facts, month, self._values.get("part_number", ""))
        return here[-1] if here else None

    def _keep(self, values: Mapping[str, str]) -> Route:
        place = self.session.place
        facts = desk_facts(place, self.route.stream)
        typed = values["month"]
        month = read_month(typed)
        if month is None:
            raise InputError(
                tr(
                    "{month}: {typed} is no month; write it as {month_example}.",
                    month=tr(MONTH),
                    typed=repr(typed),
                    month_example=MONTH_EXAMPLE,
                )
            )
        earlier = self._earlier or self._here
        kept = record_deliveries(
            place,
            facts,
            month=month,
            delivered=whole_number(values["delivered"], tr(DELIVERED), 50000) or 0,
            customer_nok=whole_number(values["customer_nok"], tr(CUSTOMER_NOK), 35),
            part_number=values["part_number"],
            entry=earlier.id if earlier else "",
            why=values.get("why", ""),
        )
        return _back_to(self.route, self.route.unit and kept.part_number)


class TakeOutDeliveriesForm(FormPage):
    """Takes a record of deliveries back, such as one of a month that two tablets recorded."""

    title = msg("Take the deliveries back")
    do = msg("Take it back")
    is_in_walk = False
    _told: tuple[str, ...] = ()

    def _first_values(self) -> dict[str, str]:
        facts = desk_facts(self.session.place, self.route.stream)
        record = next((r for r in facts.kept(Deliveries) if r.id == self.route.entry), None)
        if record is None:
            raise InputError(tr("This entry holds no longer: it was corrected or taken back."))
        month = month_words(date.fromisoformat(record.month))
        self._told = (f"{facts.name}, {month}: {record_words(record)}.", record_origin(record))
        return {}

    def _words(self) -> tuple[str, ...]:
        return (*self._told, tr("The entry is kept and no longer counts."))

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="why",
                label=tr("Why is it taken back?"),
                form="offered",
                options=as_options(tr_each(TAKE_OUT_REASONS)),
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        place = self.session.place
        take_out_deliveries(place, desk_facts(place, self.route.stream), self.route.entry, values["why"])
        return _back_to(self.route, self.route.unit)


def _back_to(route: Route, unit: str) -> Route:
    """Give the page of the month that led here, or that of all months."""
    screen = "ppm_month" if route.day else "ppm"
    return Route(screen=screen, concern=route.concern, stream=route.stream, day=route.day, unit=unit)
