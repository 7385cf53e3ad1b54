"""Suspect parts on a desk of the tests: short ways to record their containment. Invented."""

from __future__ import annotations

from dataclasses import replace
from itertools import count

from tests.builders import record_id
from walkapp.actions.containing import (
    record_clean_point,
    record_escape,
    record_range,
    record_sorting,
    record_stock,
)
from walkapp.actions.containment import containment_of
from walkapp.actions.reading import concern_facts

OTHER_TABLET = record_id(8_000_072)


class Site:
    """One concern on one desk, and short ways to record its containment. Invented."""

    def __init__(self, desk, **concern) -> None:
        self.desk, self.place = desk, desk.place
        self.concern = desk.concern(**concern)
        self._numbers = count(1)

    @property
    def facts(self):
        return concern_facts(self.place, self.concern)

    @property
    def now(self):
        return containment_of(self.place, self.facts)

    def range(self, quantity=4800, **more):
        return record_range(self.place, self.facts, quantity=quantity, **more)

    def stock(self, quantity, where="rack 3", kind="stores", **more):
        return record_stock(self.place, self.facts, kind=kind, quantity=quantity, where=where, **more)

    def sort(self, stock, checked, nok=0, sorted_on="2026-03-02", **more):
        said = {"sorted_on": sorted_on, "checked": checked, "nok": nok, **more}
        return record_sorting(self.place, self.facts, stock, **said)

    def clean(self, **more):
        return record_clean_point(self.place, self.facts, **{"checked": 59, "approved_by": "QE-RT", **more})

    def escape(self, found_on="2026-03-03", **more):
        said = {"found_on": found_on, "where": "dock B", "quantity": 3, **more}
        return record_escape(self.place, self.facts, **said)

    def arrive(self, record, **more):
        """Let a record come from another tablet, with other figures."""
        number = next(self._numbers)
        came = replace(record, id=record_id(9_000_000 + number), device=OTHER_TABLET, number=number, **more)
        self.desk.store.merge([came], name=f"other {number}", photos={}, checklists={})
        return came


def contained(site):
    """Record everything that makes the concern contained."""
    site.range(100, made_from="2026-02-16", made_to="2026-03-01")
    stock = site.stock(100).stock
    sorting = site.sort(stock, 100, 4, released=96, scrapped=4)
    site.clean(lot="0302-1", made_on="2026-03-02")
    return stock, sorting
