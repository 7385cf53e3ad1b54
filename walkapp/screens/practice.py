"""Practice in the window: what surrounds every page of it, and the way in and out."""

from __future__ import annotations

from kivy.core.window import Window
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from walkapp.language import tr
from walkapp.presenters.next_step import ANEW, ANEW_WORDS, LEAVE, LEAVE_WORDS
from walkapp.presenters.practising import NOT_REAL, PRACTICE_WORD, GuideState
from walkapp.presenters.route import Route
from walkapp.screens import look, widgets  # noqa: F401  the kv file uses its widgets
from walkapp.screens.page import children_for, load_kv


class TargetLine(BoxLayout):
    """Words of something that can be tapped next, on the page or beside it."""

    text = StringProperty("")


class TargetLines(BoxLayout):
    """Everything that can be tapped next."""

    test_name = StringProperty("")


class PracticePlate(BoxLayout):
    """Beside every page of practice: that nothing is real, what to do next, and the ways out.

    It has a place of its own and lies over nothing: at the side of a window that is wider than high, above
    the page in any other.

    Parameters
    ----------
    presenter
        What its buttons speak to.
    state
        What to show.
    is_beside
        Whether it stands at the side.
    """

    presenter = ObjectProperty(None)
    state = ObjectProperty(GuideState(), rebind=True)
    is_beside = BooleanProperty(True)
    test_name = "practice-plate"
    leave_name, anew_name = LEAVE, ANEW

    def words(self, which: str) -> str:
        """Give the fixed words of the plate."""
        return tr(
            {"word": PRACTICE_WORD, "not_real": NOT_REAL, LEAVE: LEAVE_WORDS, ANEW: ANEW_WORDS}[which]
        )

    def on_state(self, _plate, state) -> None:
        """Say what to tap; begin reading at the top where the step is another one."""
        targets = state.step.targets
        lines = children_for(self.ids.targets, targets, TargetLine)
        for line, target in zip(lines, targets, strict=True):
            line.text = target.label
        self.ids.scroll.scroll_y = 1


class Practising:
    """Shows practice in a window instead of the real records, and those again.

    Parameters
    ----------
    window
        The window.
    practice
        What is practised.
    """

    def __init__(self, window, practice) -> None:
        self._window = window
        self._practice = practice
        self._real = window.session
        self._real_route = Route()
        self._guide = None
        self._plate = self._watched = None
        self._is_opening = False

    @property
    def step(self):
        """What is to be done next; none outside practice."""
        return self._guide.state.step if self._guide is not None else None

    @property
    def plate(self):
        """What stands beside the page; none outside practice."""
        return self._plate

    def enter(self) -> None:
        """Open practice where it was left."""
        if self._guide is None:
            self._real_route = self._window.route
            self._open(lambda: self._practice.open(self._real))

    def begin_anew(self) -> None:
        """Forget what was practised and begin once more."""
        self._open(lambda: self._practice.begin_anew(self._real))

    def leave(self) -> bool:
        """Show the real records again, at the place from which practice was opened.

        Returns
        -------
        bool
            Whether there was anything to leave.
        """
        if self._guide is None or self._is_opening:
            return self._guide is not None
        self._guide.stop()
        self._guide = None
        self._take_plate_away()
        self._window.change_to(self._real, self._real_route)
        # Behind what the pages of practice still write.
        self._real.run_later(self._practice.close, lambda _: None, self._fail)
        return True

    def end(self) -> None:
        """The app ends, and everything is on disk."""
        if self._guide is not None:
            self._guide.stop()
            self._take_plate_away()
        self._practice.close()

    def follow(self, presenter, route: Route) -> None:
        """Say on a page of practice what to do next; on any other there is nothing to say."""
        if self._guide is not None:
            self._guide.follow(presenter, route)

    def build_anew(self) -> None:
        """Draw what stands beside the page once more, in what is set now."""
        if self._guide is not None:
            self._take_plate_away()
            self._put_plate()

    def _open(self, opening) -> None:
        """Do this away from the window; a second tap meanwhile opens nothing more."""
        if not self._is_opening:
            self._is_opening = True
            self._real.run_later(opening, self._show, self._fail)

    def _show(self, opened) -> None:
        self._is_opening = False
        session, guide = opened
        if self._guide is not None:
            self._guide.stop()
        self._guide = guide
        self._take_plate_away()
        self._put_plate()
        self._window.change_to(session, session.kept.route())

    def _fail(self, error) -> None:
        self._is_opening = False
        self._window.page.presenter.fail(error)

    def _put_plate(self) -> None:
        self._plate = PracticePlate(presenter=self)
        self._guide.watch(self._on_state)
        self._watched = self._guide
        self._window.surroundings.add_widget(self._plate, index=len(self._window.surroundings.children))
        Window.bind(size=self._arrange)
        self._arrange()

    def _take_plate_away(self) -> None:
        if self._plate is None:
            return
        self._watched.unwatch(self._on_state)
        Window.unbind(size=self._arrange)
        self._window.surroundings.remove_widget(self._plate)
        self._plate = None

    def _on_state(self, state) -> None:
        self._plate.state = state

    def _arrange(self, *_: object) -> None:
        is_beside = Window.width > Window.height
        # With the edges of plate and page a glove's distance from what is tapped on one to the other;
        # below the plate a page that scrolls as a whole has no edge.
        edges = 2 if is_beside else 1
        self._window.surroundings.spacing = look.gap() - edges * look.space("apart")
        self._plate.is_beside = is_beside
        self._window.surroundings.orientation = "horizontal" if is_beside else "vertical"


load_kv(__file__)
