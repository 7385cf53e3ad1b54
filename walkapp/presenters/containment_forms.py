"""The forms of containment; each says while it is filled in what follows from the figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from walkapp.actions.clean_points import detection_for, detections
from walkapp.actions.containing import (
    record_clean_point,
    record_escape,
    record_range,
    record_sorting,
    record_stock,
    take_out_stock,
)
from walkapp.actions.containment import PLACE_WORDS, ContainmentFacts, StockFacts, bout_of, containment_of
from walkapp.actions.onset import date_onset
from walkapp.actions.reading import ConcernFacts, concern_facts
from walkapp.analysis.clean_point import clean_support
from walkapp.analysis.containment import Account, Bout, place_balance, range_against_onset, thousands
from walkapp.analysis.onset import OnsetAnswer
from walkapp.model.records import (
    CleanPoint,
    Escape,
    Record,
    Sorting,
    SuspectRange,
    columns_of_kind,
    what_is_said,
)
from walkapp.presenters.containment import CAUTIONS
from walkapp.presenters.form import FormField, FormPage, whole_number
from walkapp.presenters.session import Route

LOTS_HINT = "As printed on the label"

COMMON_REASONS = ("counted again", "typed wrong")
"""Why figures are corrected, to tap."""


class ContainmentForm(FormPage):
    """A form about suspect parts that records something new or corrects what is there."""

    is_in_walk = False
    reasons: tuple[str, ...] = COMMON_REASONS
    """Why an earlier record is corrected, to tap."""

    _now: ContainmentFacts | None = None
    _earlier: Record | None = None

    def _first_values(self) -> dict[str, str]:
        self._now = containment_of(self.session.place, self._facts())
        self._earlier = self._find_earlier(self._now)
        if self._earlier is None:
            return self._new_values(self._now)
        return {
            name: "" if value is None else str(value) for name, value in what_is_said(self._earlier).items()
        }

    def _facts(self) -> ConcernFacts:
        return concern_facts(self.session.place, self.route.concern)

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        """Give the record that is corrected; none for a new one."""
        raise NotImplementedError

    def _new_values(self, _now: ContainmentFacts) -> dict[str, str]:
        """Say what stands in the fields of a new one at first."""
        return {}

    def _why_fields(self) -> tuple[FormField, ...]:
        if self._earlier is None:
            return ()
        return (
            FormField(
                name="why",
                label="Why is it corrected?",
                form="choice",
                options=tuple((reason, reason.capitalize()) for reason in self.reasons),
                hint="What stood there before is kept.",
            ),
            FormField(
                name="why_else", label="Or in your own words", is_required=not self._values.get("why")
            ),
        )

    def _stations(self) -> tuple[tuple[str, str], ...]:
        stream = self._now.facts.stream if self._now else None
        return tuple((station.id, station.name) for station in stream.stations) if stream else ()

    def _number(self, name: str) -> int | None:
        """Give a number that is being typed; none while it is not one."""
        text = self._values.get(name, "").strip()
        return int(text) if text.isascii() and text.isdigit() and len(text) <= 9 else None

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

    title = "How many could be bad"
    do = "Record this range"
    reasons = (*COMMON_REASONS, "range made longer")
    _onset: OnsetAnswer | None = None

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        self._onset = date_onset(now.facts).onset if now.facts.stream else None
        return now.suspect_range

    def _cautions(self) -> tuple[str, ...]:
        return (
            "All parts made from the first suspect one to the last, wherever they are now; in doubt take "
            "the range longer.",
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(name="quantity", label="Parts made in the range", form="whole", is_required=True),
            FormField(
                name="made_from",
                label="First production day",
                form="day",
                options=self._first_days(),
                hint="The day before which no part can be bad",
            ),
            FormField(name="made_to", label="Last production day", form="day", options=self._days()),
            FormField(name="lots", label="Lots", hint=LOTS_HINT),
            FormField(name="source", label="Where the number comes from", hint="Such as the counter"),
            *self._why_fields(),
        )

    def _first_days(self) -> tuple[tuple[str, str], ...]:
        """Offer the first day that the customer reported and the earliest day of the onset."""
        reported = self._now.facts.concern.made_from if self._now else ""
        interval = self._onset.interval if self._onset else None
        earliest = (interval.last_good_day if interval else "") or ""
        days = {reported: f"{reported} (reported)", earliest: f"{earliest} (earliest onset)"}
        return tuple((day, label) for day, label in sorted(days.items()) if day)

    def _advice(self) -> tuple[str, ...]:
        said = []
        quantity, made_from = self._number("quantity"), self._day("made_from")
        if self._now and quantity:
            said.append(f"With this: {Account(made=quantity, total=self._now.account.total).sentence}.")
        if self._onset and made_from:
            said.append(range_against_onset(made_from, self._onset)[1])
        return tuple(filter(None, said))

    def _keep(self, values: Mapping[str, str]) -> Route:
        said = self._said(values, SuspectRange)
        record_range(self.session.place, self._facts(), why=self._why(values), **said)
        return self.route.up()


class SuspectStockForm(ContainmentForm):
    """Says where suspect parts are, and how many."""

    title = "Where suspect parts are"
    do = "Record this place"

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        return now.stock(self.route.entry).stock if self.route.entry else None

    def _cautions(self) -> tuple[str, ...]:
        return CAUTIONS

    def _fields(self) -> tuple[FormField, ...]:
        stations = self._stations()
        kinds = tuple(pair for pair in PLACE_WORDS.items() if pair[0] != "station" or stations)
        station = FormField(
            name="station", label="Which station", form="choice", options=stations, is_required=True
        )
        return (
            FormField(
                name="place", label="What kind of place", form="choice", options=kinds, is_required=True
            ),
            *((station,) if self._values.get("place") == "station" else ()),
            FormField(
                name="quantity",
                label="Suspect parts found there",
                form="whole",
                hint="Before anybody sorted them",
                is_required=True,
            ),
            FormField(name="where", label="Where exactly", hint="Rack, dock, store, customer's site"),
            FormField(name="lots", label="Lots", hint=LOTS_HINT),
            *self._why_fields(),
        )

    def _advice(self) -> tuple[str, ...]:
        quantity = self._number("quantity")
        if self._now is None or quantity is None:
            return ()
        account = self._now.account
        before = self._now.stock(self.route.entry).balance.located if self.route.entry else 0
        total = replace(account.total, located=account.total.located - before + quantity)
        return (f"With this: {replace(account, total=total).sentence}.",)

    def _keep(self, values: Mapping[str, str]) -> Route:
        stock = record_stock(
            self.session.place,
            self._facts(),
            kind=values["place"],
            station=values.get("station", ""),
            quantity=whole_number(values["quantity"], "Suspect parts found there", 1200) or 0,
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

    title = "Take this place out"
    do = "Take it out"
    reasons = ("recorded twice", "parts are not suspect", "parts are not there")

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        return now.stock(self.route.entry).stock

    def _cautions(self) -> tuple[str, ...]:
        name = self._now.stock(self.route.entry).name if self._now else ""
        return (f"{name}: its parts no longer count as located.",)

    def _fields(self) -> tuple[FormField, ...]:
        return self._why_fields()

    def _keep(self, values: Mapping[str, str]) -> Route:
        take_out_stock(self.session.place, self._facts(), self.route.entry, self._why(values))
        return Route(screen="containment", concern=self.route.concern)


FATES = (
    ("usual", "OK parts released, NOK parts scrapped"),
    ("wait", "All wait for a decision"),
    ("apart", "Something else"),
)
"""What became of sorted parts, to tap."""


class SortingForm(ContainmentForm):
    """Records parts sorted at one place, or what was decided on those that were waiting."""

    title = "Parts sorted"
    do = "Record this sorting"
    reasons = ("decided since", *COMMON_REASONS)

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        found = now.stock(self.route.entry)
        return next((one for one in found.sortings if one.id == self.route.entry), None)

    def _new_values(self, _now: ContainmentFacts) -> dict[str, str]:
        return {"sorted_on": self.session.place.now().date().isoformat()}

    def _cautions(self) -> tuple[str, ...]:
        return (
            CAUTIONS[0],
            "Sort at a marked place, OK and NOK apart. Who may release parts is said by your site and the "
            "customer.",
        )

    def _fields(self) -> tuple[FormField, ...]:
        apart = (
            FormField(name="released", label="Released for use", form="whole"),
            FormField(name="reworked", label="NOK parts reworked and found good", form="whole"),
            FormField(name="scrapped", label="Scrapped", form="whole"),
        )
        return (
            FormField(name="checked", label="Parts sorted", form="whole", is_required=True),
            FormField(name="nok", label="NOK among them", form="whole", is_required=True),
            FormField(
                name="fate", label="What became of them", form="choice", options=FATES, is_required=True
            ),
            *(apart if self._fate == "apart" else ()),
            FormField(name="scrapped_unsorted", label="Scrapped without sorting, besides", form="whole"),
            FormField(
                name="sorted_on", label="Sorted on", form="day", options=self._days(), is_required=True
            ),
            *self._why_fields(),
        )

    @property
    def _fate(self) -> str:
        return self._values.get("fate", "apart" if self._earlier else "")

    def _filled(self) -> tuple[FormField, ...]:
        # A sorting that is corrected has its figures apart.
        if self._earlier is not None:
            self._values.setdefault("fate", "apart")
        return super()._filled()

    def _figures(self) -> dict[str, int]:
        """Give the figures that are filled in so far."""
        names = ("checked", "nok", "reworked", "released", "scrapped", "scrapped_unsorted")
        found = {name: self._number(name) or 0 for name in names}
        return {**found, **self._decided(found["checked"], found["nok"])}

    def _decided(self, checked: int, nok: int) -> dict[str, int]:
        """Give the figures that a tapped fate stands for."""
        match self._fate:
            case "usual":
                return {"released": max(0, checked - nok), "scrapped": nok, "reworked": 0}
            case "wait":
                return {"released": 0, "scrapped": 0, "reworked": 0}
            case _:
                return {}

    def _advice(self) -> tuple[str, ...]:
        figures = self._figures()
        if self._now is None or not figures["checked"] + figures["scrapped_unsorted"]:
            return ()
        found = self._now.stock(self.route.entry)
        others = [bout_of(one) for one in found.sortings if one != self._earlier]
        try:
            balance = place_balance(found.stock.quantity, [*others, Bout(**figures)])
        except ValueError:
            return ("These figures do not fit together: look at them again.",)
        if balance.over:
            return (f"That is {thousands(balance.over)} more than are left to sort here.",)
        of = f"{thousands(balance.to_sort)} of {thousands(balance.located)}"
        return (f"Then {of} are left to sort, {thousands(balance.waiting)} wait for a decision.",)

    def _keep(self, values: Mapping[str, str]) -> Route:
        said = {"reworked": 0, "released": 0, "scrapped": 0, "scrapped_unsorted": 0}
        said |= self._said(values, Sorting)
        said |= self._decided(said["checked"], said["nok"])
        facts = self._facts()
        stock = containment_of(self.session.place, facts).stock(self.route.entry).stock.stock
        record_sorting(
            self.session.place,
            facts,
            stock,
            sorting=self._earlier.id if self._earlier else "",
            why=self._why(values),
            **said,
        )
        return Route(screen="stock", concern=self.route.concern, entry=stock)


class CleanPointForm(ContainmentForm):
    """Says from which part on parts are good, and what was checked of them."""

    title = "Clean point"
    do = "Record this clean point"
    reasons = ("more parts checked", "an escape contradicted it", *COMMON_REASONS)

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        return now.clean_points[-1].point if now.clean_points else None

    def _cautions(self) -> tuple[str, ...]:
        return (
            "Only when every part checked from it on was OK. Who may certify it is said by your site and "
            "the customer.",
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(name="lot", label="First lot that is good", hint=LOTS_HINT),
            FormField(name="serial", label="Or first serial number that is good"),
            FormField(
                name="made_on",
                label="Production day from which on",
                form="day",
                options=self._days(),
                hint="Without it nobody can set it against the corrective action.",
            ),
            FormField(
                name="checked", label="Parts checked from it on, all OK", form="whole", is_required=True
            ),
            FormField(
                name="lot_size",
                label="Parts in that lot",
                form="whole",
                hint="Only when all were taken from one lot",
            ),
            FormField(name="station", label="Checked at", form="choice", options=self._stations()),
            FormField(
                name="approved_by", label="Certified by", hint="A role, never a name", is_required=True
            ),
            FormField(
                name="how", label="How good parts are told apart", hint="Such as a mark on the label"
            ),
            *self._why_fields(),
        )

    def _advice(self) -> tuple[str, ...]:
        checked, lot_size = self._number("checked"), self._number("lot_size")
        if self._now is None or not checked or checked > 1_000_000:
            return ()
        if lot_size is not None and checked > lot_size:
            return ("More parts checked than the lot has.",)
        detection = detection_for(detections(self._now.facts), self._values.get("station", ""))
        return clean_support(checked, lot_size=lot_size, detection=detection).lines

    def _keep(self, values: Mapping[str, str]) -> Route:
        said = self._said(values, CleanPoint)
        record_clean_point(self.session.place, self._facts(), why=self._why(values), **said)
        return self.route.up()


class EscapeForm(ContainmentForm):
    """Records bad parts that got past the containment."""

    title = "Escape"
    do = "Record this escape"

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        return next((one for one in now.escapes if one.id == self.route.entry), None)

    def _new_values(self, _now: ContainmentFacts) -> dict[str, str]:
        return {"found_on": self.session.place.now().date().isoformat()}

    def _cautions(self) -> tuple[str, ...]:
        return (
            "Your site's escalation rules and the customer's requirements decide who must be told now.",
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(name="quantity", label="Bad parts found", form="whole", is_required=True),
            FormField(name="where", label="Where", hint="Dock, customer's site", is_required=True),
            FormField(
                name="found_on", label="Found on", form="day", options=self._days(), is_required=True
            ),
            FormField(
                name="lot", label="Lot", hint="It tells whether they were made from the clean point on."
            ),
            FormField(name="made_on", label="Production day", form="day"),
            *self._why_fields(),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        said = self._said(values, Escape)
        record_escape(
            self.session.place, self._facts(), escape=self.route.entry, why=self._why(values), **said
        )
        return self.route.up()
