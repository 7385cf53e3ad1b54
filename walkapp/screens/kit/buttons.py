"""Everything that is tapped: buttons and the three answers.

Gloved fingers bounce, rest on the glass and come in pairs. So each button listens to one finger at a
time and leaves out a second release that follows too soon; the answers share one finger between
them.
"""

from __future__ import annotations

from kivy.base import EventLoop
from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    NumericProperty,
    ObjectProperty,
    OptionProperty,
    StringProperty,
)
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from walkapp.screens import look
from walkapp.screens.kit.fingers import BOUNCE_S, FINGERS, NEVER, Moment
from walkapp.screens.kit.marks import ANSWER_SHAPES
from walkapp.screens.kit.words import TypeMeasure
from walkapp.screens.page import load_kv

WIDEST_WORD_DP = 320
"""A longer word can only come from outside; it is broken over lines."""


class Tappable(ButtonBehavior, BoxLayout):
    """A plate that can be tapped with a glove; what is on it is up to the subclass.

    Parameters
    ----------
    tone
        ``plain``, ``strong`` for the one that goes on, ``quiet``, or the name of a tone of the theme.
    is_framed
        Whether a thick frame marks it as the chosen one.
    guard_s
        How long after a tap a finger that comes down again is taken for a bounce, in seconds.
    theme
        The theme that it is drawn in.
    is_typed
        Whether it is a key that fingers may type so fast that the next is down before one is up.
    tapped, changed
        When it was tapped last, and since when it is what it is.
    lid_px
        Height above the plate that belongs to it without being drawn as plate.
    ink, paper, frame_ink, frame_px, foot_px
        How the plate is drawn; set by the kv file.

    Events
    ------
    on_tap
        Somebody meant it.
    """

    tone = StringProperty("plain")
    is_framed = BooleanProperty(False)
    theme = ObjectProperty()
    ink = ColorProperty()
    paper = ColorProperty()
    frame_ink = ObjectProperty(None, allownone=True)
    frame_px = NumericProperty(0)
    foot_px = NumericProperty(0)
    lid_px = NumericProperty(0)
    guard_s = NumericProperty(BOUNCE_S)
    is_typed = BooleanProperty(False)
    test_name = StringProperty("")

    __events__ = ("on_tap",)

    def __init__(self, **kwargs) -> None:
        self._finger = None
        self.tapped, self.changed = NEVER, Moment.now()
        FINGERS.listen()
        kwargs.setdefault("theme", look.THEME)
        if not kwargs.keys() & {"height", "size", "size_hint", "size_hint_y"}:
            kwargs.update(size_hint_y=None, height=look.target())
        super().__init__(**kwargs)

    def on_touch_down(self, touch) -> bool:
        """Take the first finger; swallow others while it is down. Of a mouse only the left button taps."""
        if "button" in touch.profile and touch.button != "left":
            return False
        if self.disabled or not self.collide_point(*touch.pos):
            return super().on_touch_down(touch)
        is_held = self._finger is not None and self._finger in EventLoop.touches
        if is_held or not self._is_on_it(touch) or not FINGERS.takes(self, touch):
            return True
        taken = super().on_touch_down(touch)
        if taken and touch.ud.get(self):
            self._finger = touch
            if self.is_typed:
                _lift_typed(touch)
        return taken

    def on_touch_up(self, touch) -> bool:
        """Let go of the finger."""
        if touch is self._finger:
            self._finger = None
        return super().on_touch_up(touch)

    def on_release(self) -> None:
        """Tell of a tap, if the finger has meant it."""
        if FINGERS.counts(self, self.last_touch):
            self.tapped = Moment.now()
            self.dispatch("on_tap")

    def lift(self, touch) -> None:
        """Take a finger for lifted that is still on it."""
        del touch.ud[self]
        touch.ungrab(self)
        self._finger = None
        self._do_release()
        self.on_release()

    def _is_on_it(self, touch) -> bool:
        """Whether the finger came down on it too; in a list it may have slid here from the next row."""
        return self.collide_point(touch.ox, touch.oy)

    def on_tap(self) -> None:
        """Somebody meant it; those who use the button bind to this."""


def _lift_typed(newest) -> None:
    """Let the keys count that other fingers are on, so that digits come in the order of the fingers."""
    for touch in [touch for touch in EventLoop.touches if touch is not newest]:
        for key in [what for what in touch.ud if getattr(what, "is_typed", False)]:
            key.lift(touch)


class FittedButton(Tappable):
    """A button whose type fits it.

    The type gets smaller, down to the smallest of the scale, until no word is broken; after that the
    button grows, first in width, then in height. Nothing is ever cut.

    Parameters
    ----------
    text, detail
        What it says; the second in smaller type.
    size_name
        Size of the type, where it fits.
    beside_px
        Width taken by what stands beside the text.
    font_px, needed_px
        Size of the type that fits, and the height that the button needs with it.
    """

    text = StringProperty("")
    detail = StringProperty("")
    size_name = StringProperty("body")
    beside_px = NumericProperty(0)
    font_px = NumericProperty(0)
    needed_px = NumericProperty(0)

    def __init__(self, **kwargs) -> None:
        self._fit_soon = Clock.create_trigger(self._fit, -1)
        self._asked_px = look.target()
        self._is_fitting = False
        super().__init__(**kwargs)
        self._asked_width_px = self.width
        for name in ("size", "text", "detail", "size_name", "beside_px", "padding"):
            self.fbind(name, self._fit_soon)
        self._fit_soon()

    def on_height(self, _button, height: float) -> None:
        """Remember the height that the page asked for; it may have to be exceeded."""
        if not self._is_fitting:
            self._asked_px = height

    def on_width(self, _button, width: float) -> None:
        """Remember the width that the page asked for; it may have to be exceeded."""
        if not self._is_fitting:
            self._asked_width_px = width

    def least_px(self) -> float:
        """Give the width that the button should not go below: that of its longest word."""
        word = TypeMeasure(look.font(self.size_name), bold=True).widest_word_px(self.text)
        return max(look.target() * 1.2, word + self.padding[0] + self.padding[2] + self.beside_px)

    def word_px(self) -> float:
        """Give the width that its longest word in the smallest type needs."""
        smallest = look.font("small")
        words = (
            TypeMeasure(smallest, bold=True).widest_word_px(self.text),
            TypeMeasure(smallest).widest_word_px(self.detail),
        )
        beside = self.padding[0] + self.padding[2] + self.beside_px
        return min(max(words), dp(WIDEST_WORD_DP)) + beside

    def _fit(self, _dt: float) -> None:
        left, top, right, bottom = self.padding
        smallest, size = look.font("small"), look.font(self.size_name)
        self._keep_width(self.word_px())
        width = self.width - left - right - self.beside_px
        if width <= 0:
            return
        taken = TypeMeasure(look.font("small")).height_px(self.detail, width) + top + bottom
        while True:
            measure = TypeMeasure(size, bold=True)
            text_px = measure.height_px(self.text, width)
            is_whole = measure.widest_word_px(self.text) <= width
            if size <= smallest or (is_whole and text_px + taken <= self._asked_px):
                break
            size -= 1
        self.font_px = size
        self.needed_px = text_px + taken
        if self.size_hint_y is None:
            self._is_fitting = True
            self.height = max(self._asked_px, self.needed_px)
            self._is_fitting = False

    def _keep_width(self, least_px: float) -> None:
        """Be as wide as the longest word in the smallest type needs, whatever the page asked for."""
        self.size_hint_min_x = least_px
        if self.size_hint_x is None:
            self._is_fitting = True
            self.width = max(self._asked_width_px, least_px)
            self._is_fitting = False


class TapButton(FittedButton):
    """A button with a text, and a smaller second text under it."""


class ToolButton(FittedButton):
    """A button with a shape before its text.

    Parameters
    ----------
    shape
        Shape of the mark.
    """

    shape = StringProperty("")


class MarkButton(Tappable):
    """A button with a shape and a word, above each other or side by side.

    Parameters
    ----------
    shape
        Shape of the mark.
    text
        The word.
    detail
        A smaller word under it.
    verdict
        Name of the tone that mark, frame and, when framed, plate are drawn in; empty for the plain one.
    """

    shape = StringProperty("")
    text = StringProperty("")
    detail = StringProperty("")
    verdict = StringProperty("")


class AnswerBar(BoxLayout):
    """The three answers OK, NOK and N/A, of which one finger can give one.

    Fingers on two answers give none, until all are up: which one was meant is not known.

    Parameters
    ----------
    given
        The answer given last: ``ok``, ``not_ok``, ``not_applicable``, or empty.
    offer_na
        Whether N/A is offered.
    guard_s
        How long after an answer a further one is taken for a bounce, in seconds.

    Events
    ------
    on_answer(word)
        ``ok``, ``not_ok`` or ``not_applicable``.
    """

    given = OptionProperty("", options=["", *ANSWER_SHAPES])
    offer_na = BooleanProperty(True)
    guard_s = NumericProperty(BOUNCE_S)
    test_name = StringProperty("")

    __events__ = ("on_answer",)

    def __init__(self, **kwargs) -> None:
        self._fingers = []
        self._answered = NEVER
        super().__init__(**kwargs)
        self.on_offer_na()

    def on_offer_na(self, *_: object) -> None:
        """Show or take away N/A."""
        if not self.ids:
            return
        # An id alone does not keep a widget alive that is taken out of the tree.
        self._last = self.ids.not_applicable.__self__
        if self.offer_na and self._last.parent is None:
            self.add_widget(self._last)
        elif not self.offer_na and self._last.parent is self:
            self.remove_widget(self._last)

    def on_touch_down(self, touch) -> bool:
        """Take the first finger; two on different answers are none."""
        if not self.collide_point(*touch.pos):
            return False
        self._fingers = [finger for finger in self._fingers if finger in EventLoop.touches]
        self._fingers.append(touch)
        if len(self._fingers) == 1:
            return super().on_touch_down(touch)
        on_same = any(
            button.collide_point(*touch.pos) and button in finger.ud
            for button in self.children
            for finger in self._fingers
        )
        for finger in self._fingers if not on_same else ():
            FINGERS.leave_out(finger)
        return True

    def give(self, word: str) -> None:
        """Tell of an answer, unless it comes too soon after the last one."""
        if self._answered.is_past(self.guard_s):
            self._answered = Moment.now()
            self.dispatch("on_answer", word)

    def on_answer(self, word: str) -> None:
        """An answer was given; those who use the bar bind to this."""


class Pair(BoxLayout):
    """Two parts beside each other in a wide window, above each other in a narrow one.

    Parameters
    ----------
    stacks_when_low
        Whether they are above each other in a low window too, however wide it is.
    needs_px
        The least width in which they are beside each other, where one of them has a width of its own.
    """

    stacks_when_low = BooleanProperty(False)
    needs_px = NumericProperty(0)

    def __init__(self, **kwargs) -> None:
        super().__init__(**kwargs)
        for name in ("width", "stacks_when_low", "needs_px"):
            self.fbind(name, self._arrange)
        self._arrange()

    def _arrange(self, *_: object) -> None:
        is_narrow = not look.is_wide(self.width) or self.width < self.needs_px
        stacks = is_narrow or (self.stacks_when_low and look.is_low())
        self.orientation = "vertical" if stacks else "horizontal"


load_kv(__file__)
