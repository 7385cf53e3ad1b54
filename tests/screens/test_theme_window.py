"""The themes in a real window: what is drawn on what, what a tap on another one changes, and that a restart
and every page built before follow.
"""

from __future__ import annotations

import gc
import shutil
from contextlib import closing
from dataclasses import fields
from itertools import combinations

import pytest
from kivy.core.window import Window
from kivy.uix.label import Label
from kivy.uix.textinput import TextInput
from PIL import Image

from tests.fakes import CHECKLISTS, Desk
from tests.screens.gallery import PAGES, GalleryApp
from tests.screens.layout_check import box, clipped, problems, too_close, too_small, visible
from tests.screens.painted import drawn_in, shade
from tests.screens.test_keys_reach import routes
from tests.screens.test_layout import TABLETS
from tests.screens.test_look import contrast
from walkapp.actions.audits.doing import begin_audit
from walkapp.actions.audits.states import todays_audits
from walkapp.app import window_app
from walkapp.demo.hand import Hand
from walkapp.demo.scenario import disagree
from walkapp.demo.tablets import SCENARIO, open_tablet, read_scenario
from walkapp.demo.tour import TouchWalk
from walkapp.presenters.pages import page_class
from walkapp.presenters.route import Route
from walkapp.presenters.settings import THEME
from walkapp.screens import look, widgets
from walkapp.screens.kit.buttons import Tappable
from walkapp.screens.kit.marks import SHAPES
from walkapp.screens.page import Page
from walkapp.screens.window import SCREENS

pytestmark = [pytest.mark.long, pytest.mark.window]


@pytest.fixture(autouse=True)
def the_theme_of_other_tests():
    """Leave the theme as it was found."""
    before = look.THEME
    yield
    look.THEME = before


def numbered() -> tuple[look.Theme, dict]:
    """Give a theme in which no colour stands twice, and the name of each."""
    made, names, count = {}, {}, 0

    def next_colour(name: str) -> look.Colour:
        nonlocal count
        count += 1
        colour = (count / 100, 0.25, 0.5, 1.0)
        names[shade(colour)] = name
        return colour

    for field in fields(look.Theme):
        name = field.name
        if name == "edge":
            made[name] = next_colour(name)
        elif name.endswith("_dp"):
            made[name] = 2
        elif name != "print_light":
            made[name] = look.Tone(ink=next_colour(f"{name}.ink"), paper=next_colour(f"{name}.paper"))
    return look.Theme(**made), names


def not_listed(root, theme, names) -> dict:
    """Give every ink on a paper, of what is drawn, that the theme's lists do not have."""
    listed = {(shade(ink), shade(paper)) for _, ink, paper in (*look.pairs(theme), *look.frames(theme))}
    return {
        (drawn.what, names.get(drawn.ink, drawn.ink), names.get(drawn.paper, drawn.paper)): drawn.who
        for drawn in drawn_in(root)
        if (drawn.ink, drawn.paper) not in listed
        and not (drawn.ink == drawn.paper and drawn.ink in names)  # a part of one figure over another
    }


def settle(app, hand) -> None:
    for _ in range(3):
        app.worker.finish()
        hand.wait(0.05)


def press_all(root, state: str) -> None:
    """Draw everything that can be tapped as if a finger were on it, or no longer."""
    for widget in list(visible(root)):
        if isinstance(widget, Tappable) and not widget.disabled:
            widget.state = state


@pytest.mark.parametrize("page", PAGES)
def test_every_ink_of_the_kit_on_every_paper_is_one_whose_contrast_is_computed(drive, monkeypatch, page):
    theme, names = numbered()
    monkeypatch.setattr(look, "THEME", theme)
    hand = drive(GalleryApp(PAGES[page]), size=(800, 1280))
    hand.wait(0.1)

    found = not_listed(hand.app.root, theme, names)
    press_all(hand.app.root, "down")
    hand.wait()

    assert found | not_listed(hand.app.root, theme, names) == {}


@pytest.fixture
def own_desk(desk_demo, tmp_path):
    """The desk of the demo, to write on, with an audit begun."""
    _, folder = desk_demo
    shutil.copytree(folder, tmp_path / "own")
    desk = open_tablet(read_scenario()["desk"], tmp_path / "own" / "desk", CHECKLISTS)
    with desk.place.store:
        yield desk


def one_place_for_each_screen(desk, folder) -> dict[str, Route]:
    stream = desk.place.stream(SCENARIO)
    planned = next(one for one in todays_audits(desk.place, stream) if one.can_be_done)
    audit = begin_audit(desk.place, stream, planned)
    disagree(desk, desk.concern)
    every = {
        "disputes": Route(screen="disputes", concern=desk.concern),
        "audit": Route(screen="audit", concern=audit.concern, entry=audit.id),
        "tablet": Route(screen="tablet"),
        **routes(desk, folder),
    }
    chosen: dict[str, Route] = {}
    for route in every.values():
        chosen.setdefault(
            route.screen if route.screen in SCREENS else page_class(route.screen).screen, route
        )
    boards = ("actions", "action", "stages", "tablet", "trial", "told")
    return chosen | {route.screen: route for route in every.values() if route.screen in boards}


def test_every_ink_on_every_paper_of_every_screen_is_one_whose_contrast_is_computed(
    drive, own_desk, tmp_path, monkeypatch
):
    theme, names = numbered()
    monkeypatch.setattr(look, "THEMES", dict.fromkeys(look.THEMES, theme))
    app = window_app(own_desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
    hand = drive(app, size=(1280, 800))
    found = {}

    places = one_place_for_each_screen(own_desk, tmp_path / "own")
    for name, route in places.items():
        app.go(route)
        settle(app, hand)
        wrong = not_listed(app.page, theme, names)
        press_all(app.page, "down")
        hand.wait(1 / 60)
        wrong |= not_listed(app.page, theme, names)
        found |= {(name, *pair): who for pair, who in wrong.items()}

    assert {
        route.screen if route.screen in SCREENS else page_class(route.screen).screen
        for route in places.values()
    } == set(SCREENS)
    assert found == {}


# another theme by one tap


class Floor:
    """A tablet with a few concerns, in a window."""

    def __init__(self, drive, folder, *, size=(1280, 800), density=1.0):
        self.desk = Desk(folder)
        for number in range(20):
            self.desk.concern(what=f"Cracked ears {number} (invented)")
        self.app = window_app(self.desk.place, folder / "camera", bundles=folder / "bundles")
        self.hand = drive(self.app, size=size, density=density)
        self.touch = TouchWalk(self.desk, self.hand, folder / "camera")
        self.touch.settle()

    def close(self) -> None:
        self.desk.store.close()

    def set_theme(self, theme: str) -> None:
        self.touch.tap(f"pick-theme-{theme}")
        self.hand.wait(0.4)  # a second tap on the same button so soon is a bounce


def colours_of(theme) -> set:
    named = [getattr(theme, field.name) for field in fields(theme)]
    tones = [tone for tone in named if isinstance(tone, look.Tone)]
    return {shade(one) for tone in tones for one in (tone.ink, tone.paper)} | {shade(theme.edge)}


def strangers(root, theme) -> dict:
    """What is drawn in a colour that is none of the theme."""
    own = colours_of(theme)
    return {
        (drawn.ink, drawn.paper): drawn.who
        for drawn in drawn_in(root)
        if not {drawn.ink, drawn.paper} <= own
    }


def test_one_tap_changes_the_window_at_once_and_it_is_on_disk(drive, tmp_path):
    with closing(Floor(drive, tmp_path)) as floor:
        floor.touch.tap("tablet")

        floor.set_theme("dark")

        assert floor.desk.session.settings.word(THEME) == "dark"
        assert floor.hand.find("pick-theme-dark").is_framed
        assert floor.hand.find("saved").text == "On disk: Light around you: Dark"
        assert tuple(Window.clearcolor) == look.DARK.ground.paper
        assert strangers(floor.app.page, look.DARK) == {}


def test_pages_and_rows_that_were_built_before_are_drawn_in_the_new_theme(drive, tmp_path):
    with closing(Floor(drive, tmp_path)) as floor:
        rows = floor.hand.find("concerns")
        for place in (0.0, 1.0):  # rows that are scrolled away are kept by Kivy for later
            rows.scroll_y = place
            floor.hand.wait(0.1)
        floor.touch.tap("search")
        floor.hand.back()
        floor.touch.settle()
        for theme in ("glare", "dark"):
            floor.touch.tap("tablet")
            floor.set_theme(theme)
            floor.hand.back()
            floor.touch.settle()
            rows = floor.hand.find("concerns")
            for place in (0.0, 1.0):
                rows.scroll_y = place
                floor.hand.wait(0.1)
                assert strangers(floor.app.page, look.THEMES[theme]) == {}
            floor.touch.tap("search")
            assert strangers(floor.app.page, look.THEMES[theme]) == {}
            floor.hand.back()
            floor.touch.settle()


def test_after_a_restart_the_window_opens_in_the_theme_where_it_was_left(drive, tmp_path):
    def start(app, **sizes):
        return Hand(app, folder=tmp_path, **sizes)

    with closing(Floor(start, tmp_path)) as floor:
        floor.touch.tap("tablet")
        floor.set_theme("glare")
        assert floor.hand.close() == []
        look.use("light")

        again = window_app(floor.desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(again, size=(1024, 600))
        settle(again, hand)

        assert again.page.presenter.route.screen == "tablet"
        assert strangers(again.page, look.GLARE) == {}
        assert tuple(Window.clearcolor) == look.GLARE.ground.paper


def test_a_page_that_is_scrolled_stays_where_it_is(drive, tmp_path):
    with closing(Floor(drive, tmp_path, size=(1024, 600))) as floor:
        floor.touch.tap("tablet")
        before = floor.app.page
        before.ids.scroll.scroll_y = 0.6
        floor.hand.wait(0.1)

        before.presenter.pick("theme", "dark")
        floor.touch.settle()

        assert floor.app.page is not before
        assert floor.app.page.ids.scroll.scroll_y == pytest.approx(0.6, abs=0.01)  # on whole pixels


def pages_in_memory() -> list:
    gc.collect()
    return [one for one in gc.get_objects() if issubclass(type(one), Page)]


def test_themes_that_are_changed_all_day_leave_no_page_behind(drive, tmp_path):
    before = pages_in_memory()  # of other tests
    with closing(Floor(drive, tmp_path)) as floor:
        floor.touch.tap("tablet")
        for theme in ("dark", "glare", "light") * 3:
            floor.app.page.presenter.pick("theme", theme)
            floor.touch.settle()

        floor.hand.wait(1.0)  # Kivy's own timers hold the last pages for a moment

        assert [one for one in pages_in_memory() if one not in before] == [floor.app.page]


@pytest.mark.parametrize(("tablet", "theme"), [("8 inch standing", "dark"), ("7 inch lying", "glare")])
def test_the_page_of_this_tablet_fits(drive, tmp_path, tablet, theme):
    sizes = dict(TABLETS[tablet])
    pixels_per_inch = sizes.pop("pixels_per_inch")
    with closing(Floor(drive, tmp_path, **sizes)) as floor:
        assert problems(floor.hand.window, pixels_per_inch=pixels_per_inch) == []  # home, which leads there
        floor.touch.tap("tablet")
        floor.set_theme(theme)

        assert problems(floor.hand.window, pixels_per_inch=pixels_per_inch) == []
        floor.app.page.ids.scroll.scroll_y = 0
        floor.hand.wait(0.1)
        assert problems(floor.hand.window, pixels_per_inch=pixels_per_inch) == []


# pixels


def pixel_contrast(picture, label) -> float:
    """Contrast of the ground around a text, its most frequent colour, with what differs most from it."""
    left, bottom, right, top = (round(side) for side in clipped(label))
    cut = picture.crop((left, picture.height - top, right, picture.height - bottom))
    counts = sorted(
        ((many, colour) for many, colour in cut.getcolors(cut.width * cut.height)), reverse=True
    )
    ground = [part / 255 for part in counts[0][1]]
    return max(contrast(ground, [part / 255 for part in colour]) for _, colour in counts)


@pytest.mark.parametrize("theme", look.THEMES)
def test_the_pixels_of_every_text_stand_out_seven_to_one(drive, desk_demo, tmp_path, theme):
    desk, folder = desk_demo
    app = window_app(desk.place, folder / "camera", bundles=folder / "bundles")
    hand = drive(app, size=(1280, 800))
    app.session.settings.tell_set(THEME, theme)
    weak, many = {}, 0

    places = routes(desk, folder)
    for name in ("first-bad-station", "judge", "home"):
        app.go(places[name])
        settle(app, hand)
        hand.wait(0.1)
        with Image.open(hand.shot(f"{theme}-{name}")) as taken:
            picture = taken.convert("RGB")
        for label in visible(app.page):
            if isinstance(label, Label) and label.text.strip() and clipped(label) == box(label):
                many += 1
                if (ratio := pixel_contrast(picture, label)) < 7:
                    weak[f"{name}: {label.text}"] = round(ratio, 2)

    assert many > 60
    assert weak == {}


SMALLEST_MARK_PX = 20
"""The time line draws them in 20 dp, and nothing draws them smaller."""


def drawn_shapes(hand) -> dict[str, set]:
    """Give the pixels of each shape, drawn in black at the smallest size, by its name."""
    with Image.open(hand.shot("shapes")) as taken:
        picture = taken.convert("L")
    found = {}
    for mark in visible(hand.app.root):
        if isinstance(mark, widgets.Mark) and mark.shape:
            left, bottom, right, top = (round(side) for side in box(mark))
            cut = picture.crop((left, picture.height - top, right, picture.height - bottom))
            found[mark.shape] = {
                (x, y) for x in range(cut.width) for y in range(cut.height) if cut.getpixel((x, y)) < 128
            }
    return found


def page_of_shapes():
    from kivy.uix.gridlayout import GridLayout

    grid = GridLayout(cols=6, spacing=20, padding=40)
    for shape in SHAPES:
        side = {"size_hint": (None, None), "size": (SMALLEST_MARK_PX, SMALLEST_MARK_PX)}
        grid.add_widget(widgets.Mark(shape=shape, ink=(0, 0, 0, 1), **side))
    return grid


def test_shapes_differ_in_one_colour_at_the_smallest_size_they_are_drawn_in(drive, monkeypatch):
    monkeypatch.setattr(look, "THEME", look.GLARE)
    hand = drive(GalleryApp(page_of_shapes), size=(800, 600))
    hand.wait(0.1)

    drawn = drawn_shapes(hand)

    assert drawn.keys() == SHAPES.keys()
    assert all(len(pixels) >= 20 for pixels in drawn.values())
    # Of all pixels of two shapes, those that only one of them has. A minus is a key and never a state.
    alike = {
        (one, other): round(len(drawn[one] ^ drawn[other]) / len(drawn[one] | drawn[other]), 2)
        for one, other in combinations(SHAPES, 2)
        if {one, other} != {"not_visited", "minus"}
    }
    assert {pair: share for pair, share in alike.items() if share < 0.25} == {}


def test_what_kivy_shows_beside_a_text_follows_the_theme_and_a_glove(drive, monkeypatch):
    monkeypatch.setattr(look, "THEME", look.DARK)
    hand = drive(GalleryApp(PAGES["fields"]), size=(800, 1280), density=1.33)
    hand.wait(0.1)
    field = next(one for one in visible(hand.app.root) if isinstance(one, TextInput))
    field.use_bubble = True

    field.text = "84.2 mm"
    field.select_all()
    field._show_cut_copy_paste(field.center, Window)
    hand.wait(0.4)
    (bubble,) = [one for one in Window.children if type(one).__name__ == "TextInputCutCopyPaste"]

    assert strangers(bubble, look.DARK) == {}
    assert shade(field.selection_color) == shade(look.DARK.panel.ink)
    assert {one.text for one in visible(bubble) if isinstance(one, Label)} == {"Cut", "Copy", "Paste"}
    # Where it stands is worked out by Kivy while it is drawn; how large it is, is ours.
    buttons = [one for one in visible(bubble) if isinstance(one, Label)]
    assert [fault for one in buttons for fault in too_small(one, 189)] == []
    assert too_close([(one, (*one.pos, one.right, one.top)) for one in buttons], 4 / 25.4 * 189) == []
    field._hide_cut_copy_paste(Window)
    hand.wait(0.4)
