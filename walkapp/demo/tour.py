"""The demo walked in the real window by touch, offscreen where there is no display."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any

from walkapp.actions.reading import concern_facts
from walkapp.actions.studies import Turn, studies_of
from walkapp.app import window_app
from walkapp.demo.hand import Hand
from walkapp.demo.scenario import called_in_demo, record_lots, taken_in_demo
from walkapp.demo.tablets import Tablet
from walkapp.demo.walk_routes import Walked
from walkapp.model.records import PhotoCopy

MOST_DRAGS = 30


class TouchWalk:
    """Walks one tablet's stops of the scenario by touch.

    Parameters
    ----------
    tablet
        The tablet; its store is open.
    hand
        The hand in its window.
    pictures
        The watched folder, in which the camera drops its pictures.
    """

    def __init__(self, tablet: Tablet, hand: Hand, pictures: Path) -> None:
        self._tablet = tablet
        self._hand = hand
        self._pictures = pictures

    def open_concern(self, facts: Mapping[str, Any]) -> None:
        """Fill in the new concern and open it."""
        self.tap("new-concern")
        for name in ("stream", "defect", "severity"):
            self.tap(f"field-{name}-choice-{facts[name]}")
        for name in (
            "what", "part_name", "part_number", "customer_reference", "quantity", "reported_on", "lots",
        ):  # fmt: skip
            self.write(name, str(facts[name]))
        self.tap("record")

    def limit_samples(self, samples: Sequence[Mapping[str, Any]]) -> None:
        """Take in what is just OK and what is NOK already, so that every station judges alike."""
        self.tap("row-judging")
        for said in samples:
            self._drop_picture(said)
            self.tap(f"add-{said['limit']}")
            self.write("caption", said["caption"])
            self.tap("picture-1")
            self._hand.until(lambda: self._hand.find("saved").text)
            self._hand.back()
            self.settle()
        self._hand.back()
        self.settle()

    def start(self) -> None:
        """Read the cautions of the site and begin the walk."""
        self.tap("start-walk")
        self.write("by", self._tablet.facts["by"])
        self.tap(f"field-direction-choice-{self._tablet.facts['direction']}")
        self.tap("record")

    def stop(self, stop: Mapping[str, Any]) -> None:
        """Record everything that the scenario says of one stop."""
        self.tap(f"station-{stop['station']}")
        if self._hand.has("cautions-read"):
            self.tap("cautions-read")
        if "sample" in stop:
            self.tap("sample")
            self.write("lot", stop["sample"]["lot"])
            self.write("made_on", str(stop["sample"]["made_on"]))
            self.tap("record")
        for said in stop.get("judge", ()):
            self._judge(said)
        for said in stop.get("count", ()):
            self._count(said)
        for said in stop.get("measure", ()):
            self._type_values(said["check"], said["values"], is_tagged=said.get("tagged", False))
        for said in stop.get("setting", ()):
            self._type_values(said["check"], [said["actual"]])
        for said in stop.get("question", ()):
            self._in_check(said["check"], lambda said=said: self.tap(f"answer-{said['answer']}"))
        for said in stop.get("change", ()):
            self._change(said)
        for words in stop.get("note", ()):
            self.tap("note")
            self.write("words", words)
            self.tap("record")
        for said in stop.get("photo", ()):
            self._photo(said)

    def study(self, said: Mapping[str, Any]) -> None:
        """Open an inspection study and judge all its parts, inspector after inspector."""
        self.tap("to-studies")
        self.tap("new-study")
        self.tap(f"field-check-choice-{said['station']} {said['check']}")
        for known in ("bad", "good"):
            self.write(known, " ".join(said[known]))
        self.tap(f"field-repeats-choice-{said['repeats']}")
        self.tap("record")
        for inspector in said["inspector"]:
            self.tap("new-inspector")
            self.write("inspector", inspector["name"])
            self.tap("record")
            while (turn := self._turn(inspector["name"])) is not None:
                self.tap(f"answer-{called_in_demo(said, inspector, turn)}")
                self._hand.wait(0.3)
            self.tap("to-study")
        for _ in range(2):
            self._hand.back()
            self.settle()

    def _turn(self, inspector: str) -> Turn | None:
        """Give the look that the page asks for, as the records have it."""
        study = studies_of(concern_facts(self._tablet.place, self._tablet.concern))[0]
        return study.next_turn(inspector)

    def write_bundle(self) -> None:
        """Open the first-bad-station view and write the bundle."""
        self.tap("to-answer")
        self.tap("write-bundle")
        self._hand.until(lambda: self._hand.has("written"))

    def _judge(self, said: Mapping[str, Any]) -> None:
        def answers() -> None:
            if "unit" in said:
                self.tap(f"units-choice-{said['unit']}")
            for part in range(said["checked"]):
                self.tap("answer-not_ok" if part < said["nok"] else "answer-ok")
                self._hand.wait(0.2)

        self._in_check(said["check"], answers)

    def _count(self, said: Mapping[str, Any]) -> None:
        def numbers() -> None:
            for which in ("checked", "nok"):
                self.tap(f"{which}-value")
                self._keys(str(said[which]))

        self._in_check(said["check"], numbers)

    def _type_values(self, check: str, values: list[str], *, is_tagged: bool = False) -> None:
        def numbers() -> None:
            if is_tagged and self._hand.find("tag-more").disabled:
                self.tap("tag-part")
            for value in values:
                self._keys(value)

        self._in_check(check, numbers)

    def _keys(self, number: str) -> None:
        for key in number:
            self.tap(f"key-{'point' if key == '.' else key}")
        self.tap("key-enter")

    def _change(self, said: Mapping[str, Any]) -> None:
        self.tap("change")
        self.tap(f"field-change-choice-{said['change']}")
        self.tap(f"field-customer_told-choice-{said['customer_told']}")
        for name in ("what", "changed_on", "meant_to", "reason", "approved_by"):
            if name in said:
                self.write(name, str(said[name]))
        if "changed_on" not in said:
            self.tap("field-changed_on-choice-not known")
        self.tap("record")

    def _drop_picture(self, said: Mapping[str, Any]) -> None:
        self._pictures.mkdir(parents=True, exist_ok=True)
        (self._pictures / f"{said['picture']}.jpg").write_bytes(taken_in_demo(said))

    def _photo(self, said: Mapping[str, Any]) -> None:
        self._drop_picture(said)
        self.tap(f"row-{said['check']}" if "check" in said else "photo")
        self._hand.until(lambda: self._hand.has("picture-1"))
        self.tap("picture-1")
        self._hand.until(lambda: self._hand.has("kept-1"))
        if "cover" in said:
            self._cover(said["cover"])
        self._hand.back()
        self.settle()

    def _cover(self, boxes: Sequence[Sequence[float]]) -> None:
        """Draw over people in the newest picture."""
        self.tap("kept-1")
        self.tap("cover")
        for box in boxes:
            self.draw_box(*box)
        for _ in ("the picture", "the photo page"):
            self._hand.back()
            self.settle()

    def draw_box(self, left: float, top: float, right: float, bottom: float) -> None:
        """Drag a finger across a place of the picture, given in shares of it."""
        self._hand.until(lambda: self._hand.find("pad").tile is not None)
        x0, y0, x1, y1 = self._hand.find("pad").sides()
        start = (x0 + left * (x1 - x0), y1 - top * (y1 - y0))
        end = (x0 + right * (x1 - x0), y1 - bottom * (y1 - y0))
        self._hand.drag(start, end)
        self.settle()

    def _in_check(self, check: str, work: Any) -> None:
        self.tap(f"row-{check}")
        work()
        self._hand.back()
        self.settle()

    def write(self, field: str, text: str) -> None:
        """Tap a field and type into it, instead of what it held."""
        name = f"field-{field}-words"
        self.tap(name)
        box = self._hand.find(name)
        box.select_all()
        box.delete_selection()
        self._hand.type(text)
        box.focus = False
        self.settle()

    def tap(self, name: str) -> None:
        """Wait for a widget, drag it into sight, tap it, and wait until that is on disk."""
        self._hand.until(lambda: self._hand.has(name))
        self._reach(name)
        self._hand.tap(name)
        self.settle()

    def settle(self) -> None:
        """Wait until all is on disk and the window has shown it long enough to be seen."""
        self._finish()
        if (picker := getattr(self._hand.app.page.presenter, "picker", None)) is not None:
            self._hand.until(lambda: picker.is_at_rest)
            self._finish()

    def _finish(self) -> None:
        for _ in range(3):
            self._hand.app.worker.finish()
            self._hand.wait(0.05)
        self._hand.look()

    def _reach(self, name: str) -> None:
        """Drag the list or page until the widget can be touched in its middle."""
        for _ in range(MOST_DRAGS):
            widget = self._hand.find(name)
            x, y = widget.to_window(*widget.center)
            # In the view around it first, then with that view in a page that scrolls as a whole.
            for view in _scroll_views_of(widget):
                left, bottom = view.to_window(*view.pos)
                right = min(left + view.width, self._hand.window.width)
                top = min(bottom + view.height, self._hand.window.height)
                left, bottom = max(left, 0), max(bottom, 0)
                if not (left < x < right and bottom < y < top) and _scrolls(view):
                    break
            else:
                return
            middle = ((left + right) / 2, (bottom + top) / 2)
            step_x = _within(middle[0] - x, view.width * 0.4) if view.do_scroll_x else 0
            step_y = _within(middle[1] - y, view.height * 0.4) if view.do_scroll_y else 0
            self._hand.drag(middle, (middle[0] + step_x, middle[1] + step_y), rests=True)
            self._hand.wait(1.0)
        raise LookupError(f"{name!r} cannot be dragged into sight")


def _within(step: float, most: float) -> float:
    return min(max(step, -most), most)


def _scrolls(view: Any) -> bool:
    inside = view.children[0]
    return bool(
        (view.do_scroll_y and inside.height > view.height + 1)
        or (view.do_scroll_x and inside.width > view.width + 1)
    )


def _scroll_views_of(widget: Any) -> Iterator[Any]:
    from kivy.uix.scrollview import ScrollView

    while widget.parent is not None and widget.parent is not widget:
        widget = widget.parent
        if isinstance(widget, ScrollView):
            yield widget


def walk_by_touch(tablet: Tablet, scenario: Mapping[str, Any], folder: Path, camera: Path) -> Walked:
    """Walk all stops of a tablet in a window, from opening the concern to writing the bundle.

    Parameters
    ----------
    tablet
        The tablet; its store is open and empty.
    scenario
        The demo's facts: what is known of the concern, and its limit samples.
    folder
        Folder of the tablet's store.
    camera
        The watched folder.
    """
    hand = Hand(window_app(tablet.place, camera, bundles=folder / "bundles"), folder=folder)
    try:
        walk = TouchWalk(tablet, hand, camera)
        walk.open_concern(scenario["concern"])
        walk.limit_samples(scenario["limit"])
        walk.start()
        for stop in tablet.stops:
            tablet.clock.time += timedelta(minutes=stop.get("minutes_later", 5))
            walk.stop(stop)
        if tablet.studies:
            hand.back()
            walk.settle()
        for study in tablet.studies:
            walk.study(study)
        record_lots(tablet, tablet.concern)
        walk.write_bundle()
    finally:
        hand.close()
    (bundle,) = (folder / "bundles").glob("*.zip")
    return walked_by(tablet, bundle)


def walked_by(tablet: Tablet, bundle: Path) -> Walked:
    """Say what the one walk on a tablet left behind."""
    concern = tablet.concern
    walk = tablet.place.store.walks(concern)[0]
    copies = (r for r in tablet.place.store.records(walk) if isinstance(r, PhotoCopy) and r.boxes)
    return Walked(
        concern,
        walk,
        bundle,
        next((one.study.id for one in studies_of(concern_facts(tablet.place, concern))), ""),
        next((copy.photo for copy in copies), ""),
    )
