"""Where suspect parts are, what became of them, and from which part on they are good again."""

from __future__ import annotations

from typing import ClassVar

from walkapp.errors import RecordError
from walkapp.model.records.base import Record, check_in_order, check_nok_of
from walkapp.model.schema import choice, day, key, record_id, record_kind, text, whole

STOCK_PLACES = ("station", "in_process", "stores", "transit", "customer", "elsewhere")
"""Where suspect parts can be: at a station, between stations, in stores, on the road, at the customer."""

MOST_PARTS = 100_000_000


@record_kind
class SuspectRange(Record):
    """How many parts could be bad: everything made from the first suspect part to the last."""

    kind: ClassVar[str] = "suspect_range"
    title: ClassVar[str] = "Suspect ranges: how many parts were made that could be bad"

    quantity: int = whole("Parts made in the range", least=1, most=MOST_PARTS)
    made_from: str = day("First production day of the range", default="")
    made_to: str = day("Last production day of the range", default="")
    lots: str = text("Lots of the range, as printed on the label", longest=400, default="")
    source: str = text(
        "Where the quantity comes from, such as the machine's counter", longest=200, default=""
    )

    def _check_together(self) -> None:
        check_in_order(self.made_from, self.made_to, "made_from and made_to")


@record_kind
class SuspectStock(Record):
    """Suspect parts at one place, as they were found there before anybody sorted them.

    Its first record's id is the stock's id, through all corrections.
    """

    kind: ClassVar[str] = "suspect_stock"
    title: ClassVar[str] = "Suspect stocks: where suspect parts were found, and how many"

    stock: str = record_id("Id of the stock")
    place: str = choice("Kind of place", STOCK_PLACES)
    station: str = key("Id of the station, when the place is one", default="")
    where: str = text("Where exactly: rack, dock, store, customer's site", longest=120, default="")
    lots: str = text("Lots, as printed on the label", longest=400, default="")
    quantity: int = whole("Suspect parts found there", least=1, most=MOST_PARTS)

    def _check_together(self) -> None:
        if (self.place == "station") != bool(self.station):
            raise RecordError("station must be named exactly when the place is a station")


@record_kind
class Sorting(Record):
    """One bout of work on a suspect stock: parts sorted, and what became of them."""

    kind: ClassVar[str] = "sorting"
    title: ClassVar[str] = "Sortings: suspect parts sorted, found NOK, reworked, released, scrapped"

    stock: str = record_id("Id of the suspect stock")
    sorted_on: str = day("When they were sorted")
    checked: int = whole("Parts sorted, each looked at", least=0, most=MOST_PARTS)
    nok: int = whole("Parts found NOK among them", least=0, most=MOST_PARTS)
    reworked: int = whole("NOK parts reworked and found good", least=0, most=MOST_PARTS, default=0)
    released: int = whole("Sorted parts released for use", least=0, most=MOST_PARTS, default=0)
    scrapped: int = whole("Sorted parts scrapped", least=0, most=MOST_PARTS, default=0)
    scrapped_unsorted: int = whole(
        "Parts scrapped without sorting, beside those sorted", least=0, most=MOST_PARTS, default=0
    )

    def _check_together(self) -> None:
        check_nok_of(self.nok, self.checked)
        if not self.checked + self.scrapped_unsorted:
            raise RecordError("checked and scrapped_unsorted are both 0: nothing was done")
        if self.reworked > self.nok:
            raise RecordError(f"reworked must not be above nok ({self.reworked} of {self.nok})")
        if self.released > (good := self.checked - self.nok + self.reworked):
            raise RecordError(f"released must not be above the good parts ({self.released} of {good})")
        if (gone := self.released + self.scrapped) > self.checked:
            raise RecordError(
                f"released and scrapped together must not be above checked ({gone} of {self.checked})"
            )


@record_kind
class CleanPoint(Record):
    """From this lot or serial number on parts are certified good; all that were checked of it were OK."""

    kind: ClassVar[str] = "clean_point"
    title: ClassVar[str] = "Clean points: the first lot or serial number that is certified good"

    station: str = key("Id of the station from which on it holds", default="")
    lot: str = text("First lot that is good, as printed on the label", longest=60, default="")
    serial: str = text("First serial number that is good", longest=60, default="")
    made_on: str = day("Production day from which on parts are good", default="")
    checked: int = whole("Parts checked from the clean point on, all OK", least=1, most=1_000_000)
    lot_size: int | None = whole(
        "Parts in the lot that they were taken from", least=1, most=MOST_PARTS, default=None
    )
    approved_by: str = text("Role that certifies it", longest=80)
    how: str = text(
        "How the good parts are told apart, such as a mark on part or label", longest=200, default=""
    )

    def _check_together(self) -> None:
        if not (self.lot or self.serial or self.made_on):
            raise RecordError("lot, serial and made_on are all missing: a clean point names one of them")
        if self.lot_size is not None and self.checked > self.lot_size:
            raise RecordError(f"checked must not be above lot_size ({self.checked} of {self.lot_size})")


@record_kind
class Escape(Record):
    """Bad parts that got past the containment after the concern was opened."""

    kind: ClassVar[str] = "escape"
    title: ClassVar[str] = "Escapes: bad parts that got past the containment"

    found_on: str = day("When they were found")
    where: str = text("Where they were found: dock, customer's site", longest=120)
    quantity: int = whole("Bad parts found", least=1, most=1_000_000)
    lot: str = text("Lot, as printed on the label", longest=60, default="")
    made_on: str = day("Production day of the parts", default="")

    def _check_together(self) -> None:
        check_in_order(self.made_on, self.found_on, "made_on and found_on")
