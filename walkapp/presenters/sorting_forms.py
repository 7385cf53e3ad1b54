"""The forms of what was sorted, and of the point from which on parts are good."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from walkapp.actions.clean_points import detection_for, detections
from walkapp.actions.containing import record_clean_point, record_sorting
from walkapp.actions.containment import ContainmentFacts, bout_of, containment_of
from walkapp.analysis.clean_point import clean_support
from walkapp.analysis.containment import Bout, place_balance
from walkapp.language import msg, tr, tr_choices, whole_text
from walkapp.model.records import CleanPoint, Record, Sorting
from walkapp.presenters.containment import CAUTIONS
from walkapp.presenters.containment_forms import COMMON_REASONS, LOTS_HINT, ContainmentForm
from walkapp.presenters.form import FormField
from walkapp.presenters.route import Route

FATES = (
    ("usual", msg("OK parts released, NOK parts scrapped")),
    ("wait", msg("All wait for a decision")),
    ("apart", msg("Something else")),
)
"""What became of sorted parts, to tap."""


class SortingForm(ContainmentForm):
    """Records parts sorted at one place, or what was decided on those that were waiting."""

    title = msg("Parts sorted")
    do = msg("Record this sorting")
    reasons = (msg("decided since"), *COMMON_REASONS)

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        found = now.stock(self.route.entry)
        self.title = tr("Parts sorted: {found}", found=found.name)
        return next((one for one in found.sortings if one.id == self.route.entry), None)

    def _new_values(self, _now: ContainmentFacts) -> dict[str, str]:
        return {"sorted_on": self.session.place.now().date().isoformat()}

    def _earlier_values(self, earlier: Record) -> dict[str, str]:
        return {**super()._earlier_values(earlier), "fate": "apart"}

    def _cautions(self) -> tuple[str, ...]:
        return (
            tr(CAUTIONS[0]),
            tr(
                "Sort at a marked place, OK and NOK apart. Who may release parts is said by "
                "your site and the customer."
            ),
        )

    def _fields(self) -> tuple[FormField, ...]:
        apart = (
            FormField(name="released", label=tr("Released for use"), form="whole"),
            FormField(name="reworked", label=tr("NOK parts reworked and found good"), form="whole"),
            FormField(name="scrapped", label=tr("Scrapped"), form="whole"),
        )
        return (
            FormField(
                name="checked", label=tr("Parts sorted"), form="whole", hint=self._left(), is_required=True
            ),
            FormField(name="nok", label=tr("NOK among them"), form="whole", is_required=True),
            FormField(
                name="fate",
                label=tr("What became of them"),
                form="choice",
                options=tr_choices(FATES),
                is_required=True,
            ),
            *(apart if self._values.get("fate") == "apart" else ()),
            FormField(
                name="scrapped_unsorted", label=tr("Scrapped without sorting, besides"), form="whole"
            ),
            FormField(
                name="sorted_on", label=tr("Sorted on"), form="day", options=self._days(), is_required=True
            ),
            *self._why_fields(),
        )

    def _figures(self) -> dict[str, int]:
        """Give the figures that are filled in so far."""
        names = ("checked", "nok", "reworked", "released", "scrapped", "scrapped_unsorted")
        found = {name: self._typed_number(name) or 0 for name in names}
        return {**found, **self._decided(found["checked"], found["nok"])}

    def _decided(self, checked: int, nok: int) -> dict[str, int]:
        """Give the figures that a tapped fate stands for."""
        match self._values.get("fate"):
            case "usual":
                return {"released": max(0, checked - nok), "scrapped": nok, "reworked": 0}
            case "wait":
                return {"released": 0, "scrapped": 0, "reworked": 0}
            case _:
                return {}

    def _left(self) -> str:
        """Say what will be left when this is recorded."""
        if self._now is None:
            return ""
        figures = self._figures()
        found = self._now.stock(self.route.entry)
        bouts = [bout_of(one) for one in found.sortings if one != self._earlier]
        is_typed = figures["checked"] + figures["scrapped_unsorted"] > 0
        try:
            balance = place_balance(
                found.stock.quantity, [*bouts, *([Bout(**figures)] if is_typed else [])]
            )
        except ValueError:
            return tr("These figures do not fit together: look at them again.")
        if balance.over:
            return tr("That is {over} more than are left to sort here.", over=whole_text(balance.over))
        to_sort, located = whole_text(balance.to_sort), whole_text(balance.located)
        if not is_typed:
            return tr("{to_sort} of {located} left to sort", to_sort=to_sort, located=located)
        return tr(
            "Then {to_sort} of {located} left to sort, {waiting} waiting for a decision.",
            to_sort=to_sort,
            located=located,
            waiting=whole_text(balance.waiting),
        )

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

    title = msg("Clean point")
    do = msg("Record this clean point")
    reasons = (msg("more parts checked"), msg("an escape contradicted it"), *COMMON_REASONS)

    _detections: Mapping[str, float] = MappingProxyType({})

    def _find_earlier(self, now: ContainmentFacts) -> Record | None:
        self._detections = detections(now.facts)
        return now.clean_points[-1].point if now.clean_points else None

    def _cautions(self) -> tuple[str, ...]:
        return (
            tr(
                "Only when every part checked from it on was OK. Who may certify it is said "
                "by your site and the customer."
            ),
        )

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(name="lot", label=tr("First lot that is good"), hint=tr(LOTS_HINT)),
            FormField(name="serial", label=tr("Or first serial number that is good")),
            FormField(
                name="made_on",
                label=tr("Production day from which on"),
                form="day",
                options=self._days(),
                hint=tr("Without it nobody can set it against the corrective action."),
            ),
            FormField(
                name="checked",
                label=tr("Parts checked from it on, all OK"),
                form="whole",
                hint=next(iter(self._support()), ""),
                is_required=True,
            ),
            FormField(
                name="lot_size",
                label=tr("Parts in that lot"),
                form="whole",
                hint=tr("Only when all were taken from one lot"),
            ),
            FormField(name="station", label=tr("Checked at"), form="choice", options=self._stations()),
            FormField(
                name="approved_by",
                label=tr("Certified by"),
                hint=tr("A role, never a name"),
                is_required=True,
            ),
            FormField(
                name="how",
                label=tr("How good parts are told apart"),
                hint=tr("Such as a mark on the label"),
            ),
            *self._why_fields(),
        )

    def _advice(self) -> tuple[str, ...]:
        return self._support()[1:]

    def _support(self) -> tuple[str, ...]:
        """Say what the parts support, as far as they are filled in."""
        checked, lot_size = self._typed_number("checked"), self._typed_number("lot_size")
        if self._now is None or not checked or checked > 1_000_000:
            return ()
        if lot_size is not None and checked > lot_size:
            return (tr("More parts checked than the lot has."),)
        detection = detection_for(self._detections, self._values.get("station", ""))
        return clean_support(checked, lot_size=lot_size, detection=detection).lines

    def _keep(self, values: Mapping[str, str]) -> Route:
        said = self._said(values, CleanPoint)
        record_clean_point(self.session.place, self._facts(), why=self._why(values), **said)
        return self.route.up()
