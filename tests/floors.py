"""A walk on a desk of the tests that ends at the leak test, and older lots counted there. Invented."""

from __future__ import annotations

from dataclasses import replace

from tests.builders import record_id
from walkapp.actions.onset import count_lot, date_onset
from walkapp.actions.reading import concern_facts
from walkapp.actions.walking import Walking, start_walk
from walkapp.model.records import Answer, Count

OTHER = record_id(8_000_071)
"""Id of another tablet."""


class Floor:
    """One concern on one desk; the defect starts at the leak test."""

    def __init__(self, desk) -> None:
        self.desk = desk
        self.route = desk.walk()
        self.walking = Walking(desk.place, self.route.concern, self.route.walk)

    def walk(self):
        """Find welding clean and the leak test bad, without a production day."""
        for station, nok in (("welding", 0), ("leak-test", 12)):
            for part in range(20):
                word = "not_ok" if part < nok else "ok"
                self.walking.judge_part(self.desk.facts(self.route), station, "ear-look", word)

    def count(self):
        """Find the same by two counts."""
        said = {"concern": self.route.concern, "walk": self.route.walk, "check": "ear-look", "checked": 20}
        self.desk.place.add(Count, **said, station="welding", nok=0)
        self.desk.place.add(Count, **said, station="leak-test", nok=12)

    @property
    def facts(self):
        return concern_facts(self.desk.place, self.route.concern)

    @property
    def found(self):
        return date_onset(self.facts)

    def lot(self, day, checked=20, nok=0, lot="", station="leak-test", check="ear-look", **more):
        said = {"lot": lot, "made_on": f"2026-02-{day}", "checked": checked, "nok": nok, **more}
        return count_lot(self.desk.place, self.facts, station, check, **said)

    def lots(self):
        """The defect starts between 24 and 26 February."""
        for day, nok in ((20, 0), (24, 0), (26, 9), (27, 10)):
            self.lot(day, nok=nok, lot=f"02{day}-1")

    def change(self, what, station="leak-test", day="", kind="machine", **more):
        return self.walking.report_change(
            station,
            what=what,
            change=kind,
            **{"changed_on": f"2026-02-{day}" if day else "", "customer_told": "unknown", **more},
        )


def said_on(desk, concern, what="harder clamp pads", **more):
    """Record a change on another tablet's walk of the concern."""
    walk = start_walk(desk.place, concern_facts(desk.place, concern), "down").id
    said = {"change": "machine", "changed_on": "2026-02-24", "customer_told": "unknown", **more}
    return Walking(desk.place, concern, walk).report_change("leak-test", what=what, **said)


class Two(Floor):
    """Besides this tablet's walk another tablet found the moulding bad, in a night shift, by cavity."""

    def __init__(self, desk) -> None:
        super().__init__(desk)
        self.walk()
        start = next(r for r in desk.records if r.kind == "walk_start")
        walk = record_id(9_500_000)
        came = [replace(start, id=walk, walk=walk, device=OTHER, number=1, by="SL-KB")]
        like = next(r for r in desk.records if isinstance(r, Answer))
        came += [
            replace(
                like, id=record_id(9_500_001 + n), device=OTHER, number=2 + n, by="SL-KB", walk=walk,
                at=f"2026-03-04T23:{n:02}:00+01:00", station="moulding", check="ear-look",
                answer="not_ok" if n % 2 else "ok", unit=("cavity 1", "cavity 10", "cavity 9")[n % 3],
            )
            for n in range(30)
        ]  # fmt: skip
        desk.store.merge(came, name="other", photos={}, checklists={})
