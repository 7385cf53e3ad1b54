"""The forms of containment; each says while it is filled in what follows from the figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from walkapp.actions.containing import (
    record_escape,
    record_range,
    record_stock,
    take_out_stock,
)
from walkapp.actions.containment import PLACE_WORDS, ContainmentFacts, StockFacts, containment_of
from walkapp.actions.onset import date_onset
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.analysis.containment import Account, range_against_onset
from walkapp.analysis.onset import OnsetAnswer
from walkapp.language import day_said, msg, tr, tr_choices, tr_each
from walkapp.model.records import (
    Escape,
    Record,
    SuspectRange,
    columns_of_kind,
    what_is_said,
)
from walkapp.presenters.containment import CAUTIONS
from walkapp.presenters.form import FormField, FormPage, as_options, whole_number
from walkapp.presenters.route import Route

LOTS_HINT = msg("As printed on the label")

COMMON_REASONS = (msg("counted again"), msg("typed wrong"))
"""Why figures are corrected, to tap."""


class ContainmentForm(FormPage):
    """A form about suspect parts that records something new or corrects what is there."""

    is_in_walk = False
    reasons: tuple[str, ...] = COMMON_REASONS
    """Why an earlier record is corrected, to tap, as it stands in the catalogues."""

    _now: ContainmentFacts | None = None
    _earlier: Record | None = None

    def _first_values(self) -> dict[str, str]:
        self._now = containment_of(self.session.place, self._facts())
        self._earlier = self._find_earlier(self._now)
        if self._earlier is None:
            return self._new_values(self._now)
        return self._earlier_values(self._earlier)

    def _facts(self) -> ConcernFacts:
        return concern_facts(self.session.place, self.route.concern)

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        """Give the record that is corrected; none for a new one."""
        raise NotImplementedError

    def _new_values(self, _now: ContainmentFacts) -> dict[str, str]:
        """Say what stands in the fields of a new one at first."""
        return {}

    def _earlier_values(self, earlier: Record) -> dict[str, str]:
        """Say what stands in the fields of a correction at first."""
        return {name: "" if value is None else str(value) for name, value in what_is_said(earlier).items()}

    def _why_fields(self) -> tuple[FormField, ...]:
        if self._earlier is None:
            return ()
        return (
            FormField(
                name="why",
                label=tr("Why is it corrected?"),
                form="choice",
                options=as_options(tr_each(self.reasons)),
                hint=tr("What stood there before is kept."),
            ),
            FormField(
                name="why_else", label=tr("Or in your own words"), is_required=not self._values.get("why")
            ),
        )

    def _stations(self) -> tuple[tuple[str, str], ...]:
        stream = self._now.facts.stream if self._now else None
        return tuple((station.id, station.name) for station in stream.stations) if stream else ()

    def _day(self, name: str) -> str:
        """Give a day that is being typed; empty while it is not one."""
        text = self._values.get(name, "").strip()
        try:
            return text if date.fromisoformat(text).isoformat() == text else ""
        except ValueError:
            return ""

    def _said(self, values: Mapping[str, str], kind: type[Record]) -> dict[str, Any]:
        """Turn what was filled in into the fields of a record; what was left empty keeps its default."""
        labels = {field.name: field.label for field in self.state.fields}
        said: dict[str, Any] = {}
        for name, column in columns_of_kind(kind.kind).items():
            if name not in labels or name == "why":
                continue
            if column.form != "whole":
                said[name] = values[name]
            elif (number := whole_number(values[name], labels[name], 40)) is not None:
                said[name] = number
        return said

    def _why(self, values: Mapping[str, str]) -> str:
        return values.get("why_else", "") or values.get("why", "")


class SuspectRangeForm(ContainmentForm):
    """Says how many parts could be bad."""

    title = msg("How many could be bad")
    do = msg("Record this range")
    reasons = (*COMMON_REASONS, msg("range made longer"))
    _onset: OnsetAnswer | None = None

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        self._onset = date_onset(now.facts).onset if now.facts.stream else None
        return now.suspect_range

    def _cautions(self) -> tuple[str, ...]:
        return (
            tr(
                "All parts made from the first suspect one to the last, wherever they are; "
                "in doubt take the range longer."
            ),
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="quantity",
                label=tr("Parts made in the range"),
                form="whole",
                hint=self._balance(),
                is_required=True,
            ),
            FormField(
                name="made_from",
                label=tr("First production day"),
                form="day",
                options=self._first_days(),
                hint=self._against_onset() or tr("No part made before it can be bad"),
            ),
            FormField(name="made_to", label=tr("Last production day"), form="day", options=self._days()),
            FormField(name="lots", label=tr("Lots"), hint=tr(LOTS_HINT)),
            FormField(
                name="source", label=tr("Where the number comes from"), hint=tr("Such as the counter")
            ),
            *self._why_fields(),
        )

    def _first_days(self) -> tuple[tuple[str, str], ...]:
        """Offer the first day that the customer reported and the earliest day of the onset."""
        reported = self._now.facts.concern.made_from if self._now else ""
        interval = self._onset.interval if self._onset else None
        earliest = (interval.last_good_day if interval else "") or ""
        days = {
            reported: tr("{reported} (reported)", reported=day_said(reported)),
            earliest: tr("{earliest} (earliest onset)", earliest=day_said(earliest)),
        }
        return tuple((day, label) for day, label in sorted(days.items()) if day)

    def _balance(self) -> str:
        quantity = self._typed_number("quantity")
        if self._now is None or not quantity:
            return ""
        return tr(
            "With this: {sentence}.",
            sentence=Account(made=quantity, total=self._now.account.total).sentence,
        )

    def _against_onset(self) -> str:
        made_from = self._day("made_from")
        return range_against_onset(made_from, self._onset)[1] if self._onset and made_from else ""

    def _keep(self, values: Mapping[str, str]) -> Route:
        said = self._said(values, SuspectRange)
        record_range(self.session.place, self._facts(), why=self._why(values), **said)
        return self.route.up()


class SuspectStockForm(ContainmentForm):
    """Says where suspect parts are, and how many."""

    title = msg("Where suspect parts are")
    do = msg("Record this place")

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        if not self.route.entry:
            return None
        found = now.stock(self.route.entry)
        self.title = tr("Correct: {found}", found=found.name)
        return found.stock

    def _cautions(self) -> tuple[str, ...]:
        return tr_each(CAUTIONS)

    def _fields(self) -> tuple[FormField, ...]:
        stations = self._stations()
        kinds = tuple(pair for pair in tr_choices(PLACE_WORDS.items()) if pair[0] != "station" or stations)
        station = FormField(
            name="station", label=tr("Which station"), form="choice", options=stations, is_required=True
        )
        return (
            FormField(
                name="place", label=tr("What kind of place"), form="choice", options=kinds, is_required=True
            ),
            *((station,) if self._values.get("place") == "station" else ()),
            FormField(
                name="quantity",
                label=tr("Suspect parts found there"),
                form="whole",
                hint=self._balance(),
                is_required=True,
            ),
            FormField(
                name="where", label=tr("Where exactly"), hint=tr("Rack, dock, store, customer's site")
            ),
            FormField(name="lots", label=tr("Lots"), hint=tr(LOTS_HINT)),
            *self._why_fields(),
        )

    def _balance(self) -> str:
        quantity = self._typed_number("quantity")
        if self._now is None or quantity is None:
            return tr("Before anybody sorted them")
        account = self._now.account
        before = self._now.stock(self.route.entry).balance.located if self.route.entry else 0
        total = replace(account.total, located=account.total.located - before + quantity)
        return tr("With this: {sentence}.", sentence=replace(account, total=total).sentence)

    def _keep(self, values: Mapping[str, str]) -> Route:
        stock = record_stock(
            self.session.place,
            self._facts(),
            kind=values["place"],
            station=values.get("station", ""),
            quantity=whole_number(values["quantity"], tr("Suspect parts found there"), 1200) or 0,
            where=values["where"],
            lots=values["lots"],
            stock=self.route.entry and self._stock().stock.stock,
            why=self._why(values),
        )
        return Route(screen="stock", concern=self.route.concern, entry=stock.stock)

    def _stock(self) -> StockFacts:
        return containment_of(self.session.place, self._facts()).stock(self.route.entry)


class TakeOutForm(ContainmentForm):
    """Takes a place out that should not count."""

    title = msg("Take out")
    do = msg("Take it out")
    reasons = (msg("recorded twice"), msg("parts are not suspect"), msg("parts are not there"))

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        found = now.stock(self.route.entry)
        self.title = tr("Take out: {found}", found=found.name)
        return found.stock

    def _cautions(self) -> tuple[str, ...]:
        return (tr("The parts of this place no longer count as located."),)

    def _fields(self) -> tuple[FormField, ...]:
        return self._why_fields()

    def _keep(self, values: Mapping[str, str]) -> Route:
        take_out_stock(self.session.place, self._facts(), self.route.entry, self._why(values))
        return Route(screen="containment", concern=self.route.concern)


class EscapeForm(ContainmentForm):
    """Records bad parts that got past the containment."""

    title = msg("Escape")
    do = msg("Record this escape")

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        return next((one for one in now.escapes if one.id == self.route.entry), None)

    def _new_values(self, _now: ContainmentFacts) -> dict[str, str]:
        return {"found_on": self.session.place.now().date().isoformat()}

    def _cautions(self) -> tuple[str, ...]:
        return (
            tr("Your site's escalation rules and the customer's requirements decide who must be told now."),
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(name="quantity", label=tr("Bad parts found"), form="whole", is_required=True),
            FormField(name="where", label=tr("Where"), hint=tr("Dock, customer's site"), is_required=True),
            FormField(
                name="found_on", label=tr("Found on"), form="day", options=self._days(), is_required=True
            ),
            FormField(
                name="lot",
                label=tr("Lot"),
                hint=tr("It tells whether they were made from the clean point on."),
            ),
            FormField(name="made_on", label=tr("Production day"), form="day"),
            *self._why_fields(),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        said = self._said(values, Escape)
        record_escape(
            self.session.place, self._facts(), escape=self.route.entry, why=self._why(values), **said
        )
        return self.route.up()
