"""The window: shows the page of each place, remembers the place, and listens to "back"."""

from __future__ import annotations

import gc
import pkgutil
from collections.abc import Callable
from typing import TYPE_CHECKING

from kivy.app import App
from kivy.base import EventLoop
from kivy.cache import Cache
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.screenmanager import NoTransition, ScreenManager

from walkapp.presenters.pages import load_next, page_class
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.settings import LANGUAGE, THEME
from walkapp.presenters.store_check import check_in_background, index_in_background
from walkapp.screens import look
from walkapp.screens.background import Worker
from walkapp.screens.keyboard_room import KeyboardRoom
from walkapp.screens.keys import Keys
from walkapp.screens.page import Page
from walkapp.screens.stops import scroll_views

if TYPE_CHECKING:
    from walkapp.presenters.practising import Practice
    from walkapp.screens.practice import Practising

SCREENS = {
    "board": "walkapp.screens.board:BoardScreen",
    "parts_balance": "walkapp.screens.parts_balance:PartsBalanceScreen",
    "home": "walkapp.screens.home:HomeScreen",
    "concern": "walkapp.screens.concern:ConcernScreen",
    "disputes": "walkapp.screens.disputes:DisputesScreen",
    "station": "walkapp.screens.station:StationScreen",
    "judge": "walkapp.screens.checks:JudgeScreen",
    "count": "walkapp.screens.checks:CountScreen",
    "measure": "walkapp.screens.checks:MeasureScreen",
    "photo": "walkapp.screens.photo:PhotoScreen",
    "intake": "walkapp.screens.intake:IntakeScreen",
    "judging": "walkapp.screens.judging:JudgingScreen",
    "gallery": "walkapp.screens.gallery:GalleryScreen",
    "look_at": "walkapp.screens.look_at:LookAtScreen",
    "cover": "walkapp.screens.cover:CoverScreen",
    "camera": "walkapp.screens.camera:CameraScreen",
    "mark": "walkapp.screens.mark:MarkScreen",
    "studies": "walkapp.screens.studies:StudiesScreen",
    "study": "walkapp.screens.studies:StudyScreen",
    "reading": "walkapp.screens.studies:ReadingScreen",
    "study_result": "walkapp.screens.studies:StudyResultScreen",
    "answer": "walkapp.screens.answer:AnswerScreen",
    "detail": "walkapp.screens.detail:DetailScreen",
    "measured": "walkapp.screens.measured:MeasuredScreen",
    "onset": "walkapp.screens.onset:OnsetScreen",
    "confirmation": "walkapp.screens.confirmation:ConfirmationScreen",
    "confirmation_turn": "walkapp.screens.confirmation_turn:TurnScreen",
    "form": "walkapp.screens.form:FormScreen",
    "trial_run": "walkapp.screens.trial_run:TrialRunScreen",
    "trial_result": "walkapp.screens.trial_result:TrialResultScreen",
    "search": "walkapp.screens.search:SearchScreen",
    "audit": "walkapp.screens.audit:AuditScreen",
    "merge": "walkapp.screens.merge:MergeScreen",
    "review": "walkapp.screens.review:ReviewScreen",
    "sheet": "walkapp.screens.sheet:SheetScreen",
    "figure": "walkapp.screens.figure:FigureScreen",
    "scan": "walkapp.screens.scan:ScanScreen",
}
"""Module and class of each screen; a place that is not named here has a presenter that names its screen.

They are named, not imported, for the same reason as the presenters (``walkapp.presenters.pages``).
"""

BACK_KEY = 27

HAND_KEPT_AFTER_S = 1.0
"""What is in hand is on disk so long after the last touch: a battery that dies takes no more than that."""

MOST_PAUSE_S = 4.0
"""Android gives an app that goes to the background about five seconds (its guide to "ANR"; from memory)."""

LAID_OUT_S = 0.1
"""A page that was filled is laid out by then."""

LOAD_AFTER_S = 1
"""What a first tap needs is loaded when the first page is drawn, before a hand has found what to tap."""

CHECK_AFTER_S = 5
"""The store is checked when the first page has long been shown; a guess, no source."""


class Refusals:
    """Lets the hand feel that something was not recorded: whenever a page says what stands in the way.

    Parameters
    ----------
    presenter
        The presenter of the page that is shown.
    session
        What tells the hand.
    """

    def __init__(self, presenter, session: Session) -> None:
        self._session = session
        self._said: tuple[str, ...] = ()
        self._heard = 0
        presenter.watch(self._hear)

    def _hear(self, state) -> None:
        said, before = _in_the_way(state), self._said
        self._said = said
        self._heard += 1
        # The blank page, and what it says when it has been read, answer no touch.
        if self._heard > 2 and said and said != before:
            self._session.tell_hand("refused")


def _in_the_way(state) -> tuple[str, ...]:
    """Give what a page says that stands in the way of recording."""
    around = getattr(state, "frame", None)
    said = [getattr(state, name, "") for name in ("problem", "ask_again", "received")]
    return tuple(word for word in (*said, getattr(around, "problem", "")) if word)


class WalkWindow(App):
    """The app: one screen at a time, built when it is first shown.

    Parameters
    ----------
    make_session
        Builds the session, given the way to other places.
    worker
        The worker; waited for before the app pauses or stops.
    aside
        A worker for what no tap waits for: the check of the store.
    pictures
        A worker for the pictures that are in view.
    practice
        Makes what can be practised, once somebody wants to; none where nothing can.

    Attributes
    ----------
    keyboard_px
        Gives how many pixels of the window the keyboard on the glass covers, from below.
    """

    title = "walkapp"

    def __init__(
        self,
        make_session: Callable[[Callable[[Route], None]], Session],
        worker: Worker,
        aside: Worker,
        pictures: Worker,
        practice: Callable[[], Practice] | None = None,
    ) -> None:
        super().__init__()
        self.session = make_session(self.go)
        self.worker = worker
        self.aside = aside
        self.pictures = pictures
        self._load_soon = self._check_soon = self._scroll_soon = None
        self.manager: ScreenManager | None = None
        self.page: Page | None = None
        self.keys: Keys | None = None
        self.room: KeyboardRoom | None = None
        self.surroundings: BoxLayout | None = None
        self.practising: Practising | None = None
        self._practice = practice
        self.keyboard_px: Callable[[], float] = lambda: Window.keyboard_height
        self.route = Route()
        self._hand_soon = Clock.create_trigger(lambda _dt: self._keep_in_hand(), HAND_KEPT_AFTER_S)
        if practice is not None:
            self.session.practise = self.practise
        worker.no_memory = aside.no_memory = self.free_memory

    def build(self) -> BoxLayout:
        """Build the screen manager and open the place that was left last."""
        look.prepare()
        self.manager = ScreenManager(transition=NoTransition())
        self.surroundings = BoxLayout()
        self.surroundings.add_widget(self.manager)
        Window.bind(on_keyboard=self._on_keyboard)
        self.keys = Keys(lambda: self.page, self.go, lambda: self.practising and self.practising.plate)
        self._follow_settings()
        Window.bind(on_touch_up=self._touched)
        self.room = KeyboardRoom(self.surroundings, lambda: self.page, lambda: self.keyboard_px())
        scrolled = self.session.kept.scroll()
        self.go(self.session.kept.route())
        # Behind the work that fills the page.
        self.session.run_later(_nothing, lambda _: self._scroll_back(scrolled), self._fail)
        self._load_soon = Clock.schedule_once(self._load_next, LOAD_AFTER_S)
        self._check_soon = Clock.schedule_once(self._check_store, CHECK_AFTER_S)
        return self.surroundings

    def _follow_settings(self) -> None:
        """Do what is set on the session that is shown."""
        self.session.settings.follow(LANGUAGE, self._speak)
        self.session.settings.follow(THEME, self._dress)

    def _dress(self, theme: str) -> None:
        """Draw the window in a theme, from now on."""
        if look.THEMES[theme] is look.THEME and self.page is not None:
            return
        look.use(theme)
        Window.clearcolor = look.THEME.ground.paper
        if self.page is not None:
            self.build_anew()

    def _speak(self, word: str) -> None:
        """Speak a language, from now on."""
        if self.session.settings.speak(word) and self.page is not None:
            self.build_anew()

    def build_anew(self) -> None:
        """Build the page that is shown once more, and every other one when it is next shown.

        A page holds nothing that its presenter or the disk does not, so that nothing is lost. It is
        simpler and faster than letting every colour of every widget follow.
        """
        old, route = self.page, self.route
        scrolled = old.ids.scroll.scroll_y if "scroll" in old.ids else 1
        old.leave()
        for screen in sorted(self.manager.screens, key=lambda one: one is old):
            self.manager.remove_widget(screen)
        self.manager.transition = NoTransition()  # the one before holds two screens
        self._show(old.name, old.presenter, route)
        if self.practising is not None:
            self.practising.build_anew()
        if "scroll" in self.page.ids:
            self.page.ids.scroll.scroll_y = scrolled

    def _load_next(self, _dt: float) -> None:
        self.aside(load_next, _keep_what_is_there, self._fail)

    def _check_store(self, _dt: float) -> None:
        check_in_background(self.session, run_later=self.aside, found=self._show_notices, failed=self._fail)
        index_in_background(self.session, run_later=self.aside, failed=self._fail)

    def _show_notices(self) -> None:
        """Home shows what the check found; anywhere else it is shown when home is opened."""
        if self.page.name == "home":
            self.page.presenter.open()

    def go(self, route: Route) -> None:
        """Show a place; it is remembered, so that a restart opens there."""
        self._keep_in_hand()
        session = self.session  # it may be another one by the time that the worker comes to it
        session.run_later(lambda: session.kept.keep_route(route), lambda _: None, self._fail)
        self.route = route
        presenter = page_class(route.screen)(self.session, route)
        Refusals(presenter, self.session)
        if self.page is not None:
            self.page.leave()
        self._show(route.screen if route.screen in SCREENS else presenter.screen, presenter, route)
        if self.practising is not None:
            self.practising.follow(presenter, route)

    def _show(self, screen: str, presenter, route: Route) -> None:
        self.page, self.route = self._page(screen), route
        self.page.show(presenter)
        self.manager.current = self.page.name
        self.keys.page_opened(route)

    def _page(self, name: str) -> Page:
        if not self.manager.has_screen(name):
            self.manager.add_widget(pkgutil.resolve_name(SCREENS[name])(name=name))
        return self.manager.get_screen(name)

    def _fail(self, error) -> None:
        self.page.presenter.fail(error)

    def _on_keyboard(self, _window: object, key: int, *_: object) -> bool:
        if key != BACK_KEY or self.page is None:
            return False
        if self.page.name == "home":  # there back leaves practice, or else the app
            return self.practising is not None and self.practising.leave()
        self.page.presenter.back()
        return True

    # practice

    def practise(self) -> None:
        """Show practice instead of the real records, which nothing is written to meanwhile."""
        if self.practising is None:
            # Late: a start does not wait for the code of what most starts do not use.
            from walkapp.screens.practice import Practising

            self.practising = Practising(self, self._practice())
        self.practising.enter()

    def change_to(self, session: Session, route: Route) -> None:
        """Show a place of another store; what was in hand before is kept in the one that it was of."""
        self._keep_in_hand()
        self._check_soon.cancel()
        self.session = session
        if session.practise is not None:
            self._check_soon()
        self.go(route)
        self._follow_settings()

    def open_settings(self, *_: object) -> bool:
        """Kivy's own settings panel has no place here."""
        return False

    # what is in hand

    def _touched(self, *_: object) -> bool:
        self._hand_soon()
        return False

    def _keep_in_hand(self) -> None:
        """Put on disk what was begun on this page and is no entry yet."""
        self._hand_soon.cancel()
        if self.page is None or (values := self.page.presenter.in_hand()) is None:
            return
        route, session = self.route, self.session
        session.run_later(
            lambda: session.kept.keep_in_hand(route, values), lambda _: None, self.page.presenter.fail
        )

    def _keep_all(self, most_s: float | None = None) -> None:
        """Put on disk what is in hand and how far the page is scrolled, and wait for every entry."""
        self._keep_in_hand()
        if self.page is not None:
            places = [view.scroll_y for view in scroll_views(self.page)]
            session = self.session
            session.run_later(lambda: session.kept.keep_scroll(places), lambda _: None, self._fail)
        self.worker.finish(most_s)

    def _scroll_back(self, places: tuple[float, ...]) -> None:
        """Scroll the page to where it was before the restart, once it is laid out, if nobody touches it."""

        def scroll(_dt: float) -> None:
            views = list(scroll_views(self.page))
            if page is self.page and len(views) == len(places) and not EventLoop.touches:
                for view, place in zip(views, places, strict=True):
                    view.scroll_y = place

        page = self.page
        if places:
            self._scroll_soon = Clock.schedule_once(scroll, LAID_OUT_S)

    def on_pause(self) -> bool:
        """Everything is on disk when the system may end the app without another word."""
        if self.page is not None:
            self.page.pause()
        self._keep_all(MOST_PAUSE_S)
        return True

    def on_resume(self) -> None:
        """Go on where it was: draw all anew, since what was drawn may be gone, and show what changed."""
        Window.canvas.ask_update()
        if self.page is None:
            return
        self.page.resume()
        if not self.page.presenter.in_hand():
            self.page.presenter.look_again()

    def free_memory(self) -> None:
        """Give back what can be made again: pictures that are kept ready, and pages that are not shown."""
        self.session.release_memory()
        for screen in self.manager.screens[:]:
            if screen is not self.page:
                self.manager.remove_widget(screen)
        for category in ("kv.image", "kv.texture", "kv.loader"):
            Cache.remove(category)
        gc.collect()

    def on_stop(self) -> None:
        """Wait for the last entry, then let go of the window."""
        self._keep_all()
        Window.unbind(on_touch_up=self._touched)
        for soon in (self._load_soon, self._check_soon, self._scroll_soon):
            if soon is not None:
                soon.cancel()
        if self.page is not None:
            self.page.leave()
        if self.session.merging is not None:
            self.session.merging.stop()
        self.pictures.close()
        self.aside.close()
        self.worker.close()
        if self.practising is not None:
            self.practising.end()
        self.keys.close()
        self.room.close()
        Window.unbind(on_keyboard=self._on_keyboard)


def _nothing() -> None:
    """Work that is done when all work before it is."""


def _keep_what_is_there(_done: object) -> None:
    """Let no later collection of garbage look through what is there by now: it would stop the window.

    Once only: of a later window of the same process, in the demo and the tests, this would keep the one
    before it in memory for good.
    """
    if not gc.get_freeze_count():
        gc.freeze()
