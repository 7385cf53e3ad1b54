"""The form for a count of an older lot."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from walkapp.actions.onset import DatedOnset, count_lot, date_onset
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.language import day_said, msg, tr
from walkapp.presenters.form import FormField, FormPage, as_options, whole_number
from walkapp.presenters.route import Route
from walkapp.presenters.study_forms import check_choices

MOST_DAYS = 3
"""How many days are offered to tap."""


class LotCountForm(FormPage):
    """Counts the parts of an older lot."""

    title = msg("Count of an older lot")
    do = msg("Record this count")
    is_in_walk = False
    _facts: ConcernFacts | None = None
    _found: DatedOnset | None = None

    def _first_values(self) -> dict[str, str]:
        self._facts = concern_facts(self.session.place, self.route.concern)
        self._found = date_onset(self._facts)
        return {"check": self._likely_check()}

    def _likely_check(self) -> str:
        """Offer the station whose counts are used already, or else the first bad one."""
        station = (self._found.station or self._found.first_bad) if self._found else None
        offered = (word for word, _ in check_choices(self._facts))
        return next((word for word in offered if station and word.split()[0] == station.id), "")

    def _cautions(self) -> tuple[str, ...]:
        return (
            tr(
                "Count retained or returned parts that came through the station at which "
                "they are judged; a sample taken before it says nothing."
            ),
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(name="lot", label=tr("Lot"), hint=tr("As printed on the label")),
            FormField(
                name="made_on",
                label=tr("Production date"),
                form="day",
                options=as_options(self._days_to_check()),
                hint=which_day(self._found),
                is_required=True,
            ),
            FormField(name="checked", label=tr("Parts checked"), form="whole", is_required=True),
            FormField(name="nok", label=tr("NOK among them"), form="whole", is_required=True),
            FormField(
                name="check",
                label=tr("Judged at"),
                form="choice",
                options=check_choices(self._facts),
                is_required=True,
            ),
        )

    def _days_to_check(self) -> tuple[str, ...]:
        days = list(days_to_check(self._found))
        if len(days) <= MOST_DAYS:
            return tuple(days)
        # The middle and both quarters: each halves what is left.
        return tuple(days[len(days) * part // 4] for part in (1, 2, 3))

    def _keep(self, values: Mapping[str, str]) -> Route:
        station, _, check = values["check"].partition(" ")
        count_lot(
            self.session.place,
            concern_facts(self.session.place, self.route.concern),
            station,
            check,
            lot=values["lot"],
            made_on=values["made_on"],
            checked=whole_number(values["checked"], tr("Parts checked"), 20) or 0,
            nok=whole_number(values["nok"], tr("NOK among them"), 3) or 0,
            walk=self.route.walk,
        )
        return self.route.up()


def days_to_check(found: DatedOnset | None) -> Iterator[str]:
    """Give the days of which nothing was checked and on which the defect may have started."""
    interval = found.onset.interval if found and found.onset else None
    for first, last in interval.unchecked if interval else ():
        day = date.fromisoformat(first)
        while day <= date.fromisoformat(last):
            yield day.isoformat()
            day += timedelta(days=1)


def which_day(found: DatedOnset | None) -> str:
    """Say which lot would tell most about when the defect started."""
    onset = found.onset if found else None
    if onset is None:
        return tr("Begin with a day that should be good and one that is bad; then halve the days between.")
    if onset.interval is None:
        return tr("The lot that should be bad, and then the days before it, would tell most.")
    if onset.interval.last_good_day is None:
        return tr(
            "A lot made before {day} would tell most: it may have started at any time.",
            day=day_said(onset.rows[0].day),
        )
    if onset.interval.unchecked:
        return tr("A day of which nothing was checked, and on which it may have started, would tell most.")
    return ""
