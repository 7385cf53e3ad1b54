"""Opens the window: builds store, session, worker and pages, and joins them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from walkapp import __version__
from walkapp.actions.speaking import speak
from walkapp.actions.workplace import NOBODY, Workplace, refuse_practice_folder
from walkapp.devices.memory import return_large_blocks
from walkapp.errors import InputError
from walkapp.language import current, tr
from walkapp.presenters.devices import Devices
from walkapp.presenters.session import NO_DEVICES, Session
from walkapp.presenters.settings import LANGUAGE
from walkapp.screens.environment import quiet_kivy, tame_mouse
from walkapp.store import Store, read_place

if TYPE_CHECKING:
    from walkapp.actions.practice import PracticeFacts
    from walkapp.presenters.practising import Practice

quiet_kivy()


def known_picture_folders(first: Path) -> tuple[Path, ...]:
    """Give the folders to look for pictures in: the watched one, then those that exist at home."""
    try:
        # no text: names of folders
        usual = [Path.home() / name for name in ("Pictures", "DCIM", "Downloads")]
    except RuntimeError:
        usual = []  # an app on Android has no home
    return (first, *(folder for folder in usual if folder.is_dir() and folder != first))


def open_app(
    *,
    store: Path,
    checklists: Path,
    pictures: Path,
    now: Callable[[], datetime],
    new_id: Callable[[], str],
    language: str = "",
    practice: Callable[[], PracticeFacts] | None = None,
) -> int:
    """Open the window on a store and stay until it is closed.

    Parameters
    ----------
    store
        Folder of the records; made when it is missing.
    checklists
        Folder of the value streams. Mistakes in it are told in the window, so that a walk that was
        begun before can go on.
    pictures
        Folder that a camera drops pictures in; made when it is missing.
    now, new_id
        The clock and the maker of ids.
    language
        As in :class:`walkapp.presenters.session.Session`.
    practice
        Gives what can be practised, once somebody wants to; none where nothing can.

    Returns
    -------
    int
        The exit status.

    Raises
    ------
    WalkappError
        If the store cannot be used or is there to practise on, or there is no folder of checklists; no
        window is opened then.
    """
    refuse_practice_folder(store)
    if not checklists.is_dir():
        raise InputError(
            tr(
                "{checklists}: there is no such folder; name that of the value streams with --checklists.",
                checklists=checklists,
            )
        )
    # Before the store is opened: what it found wrong then is said once.
    speak(language or LANGUAGE.read(read_place(store)), current().code)
    # no text: it stands in records
    with Store(store, now=now, new_id=new_id, app=f"walkapp {__version__}") as opened:
        place = workplace_of(opened, checklists, now=now, new_id=new_id)
        pictures.mkdir(parents=True, exist_ok=True)
        beside = practice_beside(store, practice, now=now, new_id=new_id) if practice else None
        devices = _devices_here(now)
        app = window_app(
            place,
            pictures,
            bundles=store / "bundles",
            devices=devices,
            language=language,
            practice=beside,
        )
        _live_on_device(app)
        app.run()
    return 0


def practice_beside(
    store: Path,
    facts: Callable[[], PracticeFacts],
    *,
    now: Callable[[], datetime],
    new_id: Callable[[], str],
) -> Callable[[], Practice]:
    """Say how practice is made beside a store; nothing of it is read before somebody wants it."""

    def make() -> Practice:
        from walkapp.actions.practice import practice_folder
        from walkapp.presenters.practising import Practice

        # no text: it stands in records
        app = f"walkapp {__version__}"
        return Practice(facts(), practice_folder(store), now=now, new_id=new_id, app=app)

    return make


def show_trouble(sentence: str) -> None:
    """Say in a window why the app cannot start, until it is closed."""
    # Late: importing the window side opens a window.
    from walkapp.screens.trouble import TroubleApp

    TroubleApp(sentence).run()


def _devices_here(now: Callable[[], datetime]) -> Devices:
    """Give the devices of this tablet."""
    from kivy.clock import Clock

    from walkapp.devices.here import devices_here

    return devices_here(now, lambda call: Clock.schedule_once(lambda _: call()))


def _live_on_device(app: Any) -> None:
    """Let the app hear what the device tells of memory and keyboard."""
    from kivy.clock import Clock

    from walkapp.devices.android_life import keyboard_px, when_memory_is_low

    when_memory_is_low(lambda: Clock.schedule_once(lambda _: app.free_memory()))
    if keyboard_px() is not None:
        app.keyboard_px = keyboard_px


def workplace_of(
    store: Store, checklists: Path, *, now: Callable[[], datetime], new_id: Callable[[], str]
) -> Workplace:
    """Join an open store with the checklists, for the person remembered there."""
    by = store.place().get("by", NOBODY)
    return Workplace(store=store, checklists=checklists, now=now, new_id=new_id, by=by)


def window_app(
    place: Workplace,
    pictures: Path,
    *,
    bundles: Path,
    devices: Devices = NO_DEVICES,
    language: str = "",
    practice: Callable[[], Practice] | None = None,
) -> Any:
    """Build the Kivy app on a workplace; its window opens when it runs.

    Parameters
    ----------
    place
        What the actions work with.
    pictures
        The watched folder.
    bundles
        Folder to write bundles in.
    devices
        What the tablet can do; a demo and the tests bring their own.
    language
        As in :class:`walkapp.presenters.session.Session`.
    practice
        Makes what can be practised beside it, once somebody wants to; none where nothing can.
    """
    tame_mouse()
    return_large_blocks()
    # Late: importing the window side opens a window.
    from walkapp.screens.background import Worker
    from walkapp.screens.window import WalkWindow

    worker, aside, pictures_worker = Worker(), Worker(steps_back=True), Worker(steps_back=True)
    return WalkWindow(
        lambda go: Session(
            place,
            run_later=worker,
            go=go,
            picture_folders=known_picture_folders(pictures),
            bundles=bundles,
            aside=aside,
            devices=devices,
            picture_worker=pictures_worker,
            language=language,
        ),
        worker,
        aside=aside,
        pictures=pictures_worker,
        practice=practice,
    )
