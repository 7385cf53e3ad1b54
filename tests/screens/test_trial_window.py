"""A reproduction trial in a real window, by touch: opened, run to its end, read, and corrected."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from tests.trials import Ground
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Trial, TrialFactor, TrialRun
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window


class Bench:
    """A window on a desk, with the hand that touches it."""

    def __init__(self, desk, drive, folder, tablet) -> None:
        sizes = dict(TABLETS[tablet])
        self.pixels_per_inch = sizes.pop("pixels_per_inch")
        self.desk = desk
        self.app = window_app(desk.place, folder / "camera", bundles=folder / "bundles")
        self.hand = drive(self.app, **sizes)
        self.walk = TouchWalk(desk, self.hand, folder / "camera")

    def go(self, route):
        self.app.go(route)
        self.walk.settle()

    def tap(self, name):
        self.walk.tap(name)

    def says(self, name):
        return self.hand.find(name).text

    def fits(self):
        self.hand.wait(0.3)
        return problems(self.hand.window, pixels_per_inch=self.pixels_per_inch) == []


def test_a_trial_is_opened_and_its_first_run_entered_and_corrected_by_touch(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        floor = Floor(desk)
        pads = floor.change("Harder clamp pads", day=24).id
        bench = Bench(desk, drive, tmp_path, "7 inch lying")
        bench.go(Route(screen="trials", concern=floor.route.concern))
        assert bench.fits()

        bench.tap("new_trial")
        bench.tap("field-factors-choice-1")
        bench.tap(f"field-change_A-choice-{pads}")
        assert bench.says("advice") == (
            "6 runs in a random order, 20 parts each: 120 parts in all.\n"
            "These 6 runs alone cannot prove that a factor makes a difference, however they come out; with "
            "4 replicates of each combination (8 runs) they could."
        )
        assert bench.fits()
        bench.tap("record")

        (trial,) = [record for record in desk.records if isinstance(record, Trial)]
        (factor,) = [record for record in desk.records if isinstance(record, TrialFactor)]
        assert (factor.name, factor.low, factor.high, factor.change) == (
            "Harder clamp pads", "as before", "as changed", pads,
        )  # fmt: skip
        assert (trial.replicates, trial.parts) == (3, 20)
        assert bench.says("sentence").startswith("Run 1 of 6 is next. Set Harder clamp pads: as ")
        assert bench.fits()

        bench.tap("enter")
        assert bench.says("settings").startswith("Harder clamp pads: as ")
        bench.tap("nok-more")
        bench.hand.wait(0.1)
        bench.tap("nok-more")
        assert bench.says("record") == "Record 2 of 20 NOK"
        assert [record for record in desk.records if isinstance(record, TrialRun)] == []
        assert bench.fits()
        bench.tap("record")

        (run,) = [record for record in desk.records if isinstance(record, TrialRun)]
        assert (run.run, run.checked, run.nok) == (1, 20, 2)
        assert bench.says("sentence").startswith("Run 2 of 6 is next.")
        assert bench.hand.find("undo").detail == "run 1"

        bench.tap("row-1")
        assert bench.says("corrects") == "On disk: 2 of 20 NOK. Why is it corrected?"
        bench.tap("nok-value")
        bench.tap("key-7")
        assert bench.fits()
        bench.tap("key-enter")
        bench.tap("why-typed wrong")
        assert bench.fits()
        bench.tap("record")

        last = [record for record in desk.records if isinstance(record, TrialRun)][-1]
        assert (last.nok, last.replaces, last.why) == (7, (run.id,), "typed wrong")
        bench.tap("undo")
        assert bench.says("saved") == "Taken back"
        bench.hand.back()
        bench.walk.settle()
        assert bench.app.session.kept.route().screen == "trials"


@pytest.mark.parametrize("tablet", ["7 inch lying", "8 inch standing"])
def test_what_a_trial_shows_is_drawn_and_read(drive, tmp_path, tablet):
    desk = Desk(tmp_path)
    with desk.store:
        ground = Ground(desk, factors=3, replicates=2, centres=3)
        ground.run_all(lambda levels: (17, 20) if levels[0] > 0 and levels[1] > 0 else (0, 20))
        bench = Bench(desk, drive, tmp_path, tablet)
        bench.go(ground.route("trial_result"))

        assert bench.says("sentence").startswith(
            "Clamp pads hard and Parts warm together: 68 of 80 NOK; else"
        )
        assert len(bench.hand.find("effects").children) == 9
        assert bench.fits()

        bench.tap("lines-C")
        plot = bench.hand.find("plot")
        assert [line.name for line in plot.view.lines] == ["Clamp force: 90 N", "Clamp force: 140 N"]
        assert "Each point is the mean of 4 runs, 80 parts." in bench.hand.texts()
        assert "Clamp force: 140 N (solid)" in bench.hand.texts()
        assert bench.fits()

        bench.tap("undo")
        assert bench.says("sentence").startswith("18 of 19 runs are done;")
        assert bench.says("saved") == "Taken back"
        assert bench.fits()
        bench.tap("to-runs")
        assert bench.says("sentence").startswith("Run 19 of 19 is next.")
        assert bench.fits()


def test_a_measured_value_is_typed_and_recorded_by_touch(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        ground = Ground(desk, factors=5, is_half=True, replicates=1, measured="Ear gap", unit="mm")
        bench = Bench(desk, drive, tmp_path, "8 inch standing")
        bench.go(ground.route("trial_run", "4"))
        assert bench.fits()

        for key in ("1", "point", "5"):
            bench.tap(f"key-{key}")
        bench.tap("key-enter")

        assert ground.now.recorded(4).value == "1.5"
        assert bench.says("sentence").startswith("Run 1 of 16 is next.")
        assert bench.fits()
