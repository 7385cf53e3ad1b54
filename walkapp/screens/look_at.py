"""One picture large, alone or beside the limit samples; zoomed and moved under one glass."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from walkapp.language import tr
from walkapp.presenters.board import BoardButton
from walkapp.presenters.gallery import BEING_READ
from walkapp.presenters.lens import STEP, Lens
from walkapp.presenters.look_at import THIS, LookState
from walkapp.screens import frame, look, widgets  # noqa: F401  the kv file uses their widgets
from walkapp.screens.kit import glass  # noqa: F401  the kv file uses its widget
from walkapp.screens.kit.buttons import TapButton
from walkapp.screens.page import Page, children_for, load_kv
from walkapp.screens.photo import texture_of
from walkapp.screens.textures import Textures

MOST_TEXTURE_BYTES = 60_000_000
"""Three large pictures and their small ones; older ones go first."""


class LookAtScreen(Page):
    """One picture of a concern or book, large.

    Parameters
    ----------
    shown
        Name of the pane that is seen where one is shown at a time.
    is_one_by_one
        Whether a person wants one at a time though there is room for three.
    is_beside
        Whether the buttons stand beside the picture; below it where the width is worth more.
    """

    state = ObjectProperty(LookState(), rebind=True)
    shown = StringProperty(THIS)
    is_one_by_one = BooleanProperty(False)
    is_beside = BooleanProperty(True)

    def __init__(self, **more) -> None:
        self._textures = Textures(MOST_TEXTURE_BYTES)
        self._troubles: dict = {}
        self._arrived: list = []
        self._is_followed = False
        self._hang_soon = Clock.create_trigger(self._hang, 0)
        super().__init__(**more)
        self.ids.glass.bind(
            on_swipe=lambda _, by: self.presenter.turn(by),
            lens=self._fill_foot,
            moves_alone=self._fill_foot,
        )
        self.bind(is_one_by_one=self._arrange)
        Window.bind(size=self._arrange)

    def show(self, presenter) -> None:
        """Follow another presenter and its pictures, and show whole pictures."""
        self._troubles.clear()
        self._arrived.clear()
        self.shown, self.is_one_by_one = THIS, False
        self.ids.glass.lens, self.ids.glass.moves_alone = Lens(), False
        self._is_followed = True
        presenter.feed.watch(self._on_picture)
        presenter.session.when_memory_is_low(self.release)
        super().show(presenter)

    def leave(self) -> None:
        """Want no more pictures, and hold none: they are large."""
        self.presenter.feed.want(())
        self.presenter.feed.unwatch(self._on_picture)
        self._hang_soon.cancel()
        self._is_followed = False
        super().leave()
        self._textures.keep_only(())
        self.ids.glass.clear()

    def release(self) -> None:
        """Hold no picture but those that are seen."""
        self._textures.keep_only({wish for pane in self.state.panes for wish in pane.wishes()})

    def on_state(self, _page, state) -> None:
        """Show other panes; what is seen of them stays only while they are the same."""
        shown = self.ids.glass
        if _key_of(shown.panes) != _key_of(state.panes):
            # Another sample is compared at the same place; another picture begins as a whole.
            shown.lens = Lens()
        shown.panes = state.panes
        self._arrange()
        self._fill_foot()
        self._put_pictures()
        self._ask()

    def _arrange(self, *_) -> None:
        """Stand the panes beside or above each other, or show one at a time where there is little room."""
        if not self._is_followed:
            return
        shown = self.ids.glass
        is_one = self.is_one_by_one or self._is_small()
        shown.way = "one" if is_one else "above" if Window.height > Window.width else "beside"
        is_wide = look.is_wide(Window.width)
        self.is_beside = is_wide and not (self.state.is_comparing and shown.way == "beside")
        is_switch = self.state.is_comparing and shown.way == "one"
        options = [(pane.name, pane.word) for pane in self.state.panes] if is_switch else []
        if self.ids.switch.options != options:
            self.ids.switch.options = options
        shown.shown = self.shown
        self._put_pictures()

    def _is_small(self) -> bool:
        return look.is_low() or Window.width < 6 * look.target()

    def on_shown(self, *_) -> None:
        """Show another one of the pictures, at the same place and as large."""
        self.ids.glass.shown = self.shown
        self._put_pictures()

    def _fill_foot(self, *_) -> None:
        """Refill the buttons; they are few."""
        shown = self.ids.glass
        is_whole = shown.lens.is_whole
        turns = [one for one in self.state.buttons if one.name in ("before", "next")]
        buttons = [
            *turns,
            BoardButton(name="zoom-out", text=tr("Zoom out"), is_off=is_whole),
            BoardButton(name="zoom-in", text=tr("Zoom in")),
            *(one for one in self.state.buttons if one not in turns),
        ]
        if self.state.is_comparing:
            # Always there, so that no button moves under a finger that zooms.
            text = tr("Move all") if shown.moves_alone else tr("Move one alone")
            buttons.append(BoardButton(name="together", text=text, is_off=is_whole))
            if not self._is_small():
                text = tr("All three") if self.is_one_by_one else tr("One by one")
                buttons.append(BoardButton(name="one-by-one", text=text))
        there = children_for(self.ids.foot, buttons, self._make_button)
        for widget, one in zip(there, buttons, strict=True):
            widget.test_name, widget.text = one.name, one.text
            widget.tone, widget.disabled = one.tone, one.is_off

    def _make_button(self) -> TapButton:
        button = TapButton()
        button.bind(on_tap=lambda tapped: self._press(tapped.test_name))
        return button

    def _press(self, name: str) -> None:
        match name:
            case "zoom-in":
                self.ids.glass.zoom(STEP)
            case "zoom-out":
                self.ids.glass.zoom(1 / STEP)
            case "together":
                self.ids.glass.moves_alone = not self.ids.glass.moves_alone
            case "one-by-one":
                self.is_one_by_one = not self.is_one_by_one
                self._fill_foot()
            case _:
                self.presenter.press(name)

    def _ask(self) -> None:
        """Ask for the small pictures first, which are there at once, then for the large ones."""
        pairs = [pane.wishes() for pane in self.state.panes if pane.key]
        wishes = [wish for both in zip(*pairs, strict=True) for wish in both]
        self._textures.keep_only(wishes)
        held = {wish for wish, _ in self._arrived}
        self.presenter.feed.want(
            [w for w in wishes if w not in self._textures and w not in self._troubles and w not in held]
        )

    def _on_picture(self, wish, picture) -> None:
        self._arrived.append((wish, picture))
        self._hang_soon()

    def _hang(self, _dt: float) -> None:
        """Make one texture a frame: a large one takes some milliseconds."""
        wish, picture = self._arrived.pop(0)
        if picture.trouble:
            self._troubles[wish] = picture.trouble
        else:
            self._textures.hold(wish, texture_of(picture))
        self._put_pictures()
        if self._arrived:
            self._hang_soon()

    def _put_pictures(self) -> None:
        for pane in self.state.panes:
            wishes = pane.wishes()
            held = [texture for wish in wishes if (texture := self._textures.give(wish)) is not None]
            troubles = [self._troubles[wish] for wish in wishes if wish in self._troubles]
            word = pane.caption if not pane.key else "" if held else (troubles or [tr(BEING_READ)])[0]
            self.ids.glass.put(pane.name, held[-1] if held else None, word)


def _key_of(panes) -> str:
    return next((pane.key for pane in panes if pane.name == THIS), "")


load_kv(__file__)
