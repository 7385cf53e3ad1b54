"""What every presenter is given: the actions' workplace, a worker, and the way to other screens."""

from __future__ import annotations

import gc
import json
import weakref
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from walkapp.actions.reasons import TAKES_BACK
from walkapp.actions.speaking import speak
from walkapp.actions.workplace import Workplace
from walkapp.errors import StoreError, WalkappError
from walkapp.language import current, msg, tr
from walkapp.presenters.devices import Devices
from walkapp.presenters.pages import PAGES, PARENTS
from walkapp.presenters.settings import FEEDBACK, LANGUAGE, SET, Setting

if TYPE_CHECKING:
    from walkapp.actions.merge_runs import MergeWork
    from walkapp.actions.searching import Finder
    from walkapp.actions.thumbnails import Thumbnails
    from walkapp.model.records import Record
    from walkapp.presenters.picture_queue import PictureQueue

T = TypeVar("T")


class RunLater(Protocol):
    """Runs work away from the screen, one piece after the other, in the order it was given."""

    def __call__(
        self,
        work: Callable[[], T],
        done: Callable[[T], None],
        failed: Callable[[WalkappError], None],
    ) -> None:
        """Run `work`, then `done` or `failed` on the thread that draws."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """A place in the app: enough to come back to the same spot after a restart.

    Parameters
    ----------
    screen
        Name of the screen.
    concern, walk, station, check, study
        Ids of what it shows; empty when it shows none.
    inspector
        Who judges the parts of the study; empty for nobody.
    picture
        SHA-256 of the recorded picture that it shows; empty for none.
    mark
        Which mark on the picture is chosen, or with which tool is drawn; empty for none.
    entry
        Id of the record, or of the chain of records, that it is about: a dispute, a trial, an on/off
        confirmation, a suspect stock, an action; or which prompt of the results of audits; empty for none.
    number
        Which run of the trial, or which turn of the on/off confirmation, from 1; of how many weeks the
        results of audits are; empty for none.
    unit
        The parallel unit that the next parts of the check belong to; on the pages of deliveries the part
        number, empty for all; empty when not said.
    filter
        Which part of the records is looked at, as ``RecordFilter.to_text`` writes it; empty for all.
    stream, layer, day, shift
        Which value stream, and which audit of its plan; empty for none. On the pages of success factors
        `layer` is the factor, since what is behind it has an `entry` of its own; on those of deliveries
        `day` is the first day of the month. On the pages of an audit that is begun, `concern` is its audit
        book, `entry` the audit, and `station` and `check` what is asked.
    through
        Names of the pages that led here, the nearest last, where several lead to the same one; empty
        where the place above follows from the page itself.
    """

    screen: str = "home"
    concern: str = ""
    walk: str = ""
    station: str = ""
    check: str = ""
    study: str = ""
    inspector: str = ""
    picture: str = ""
    mark: str = ""
    entry: str = ""
    number: str = ""
    unit: str = ""
    stream: str = ""
    layer: str = ""
    day: str = ""
    shift: str = ""
    filter: str = ""
    through: str = ""

    def down(self, screen: str, **more: str) -> Route:
        """Give a place from which "back" leads here again, whatever else leads to it.

        Parameters
        ----------
        screen
            Its name.
        more
            What it is about beyond what this place is about; fields of the route.
        """
        return replace(self, screen=screen, through=f"{self.through} {self.screen}".strip(), **more)

    def up(self) -> Route:
        """Give the place that "back" leads to; home leads nowhere else."""
        before, _, last = self.through.rpartition(" ")
        if last in PAGES:
            return replace(self, screen=last, through=before)
        if (parent := PARENTS.get(self.screen)) is not None:
            kept = {name: getattr(self, name) for name in parent.keeps}
            return Route(screen=parent.screen, concern=self.concern, **kept)
        match self.screen:
            case "home" | "concern" | "new_concern":
                return Route()
            case "measured" if self.station:
                return replace(self, screen="detail", check="")
            case "cover":
                return replace(self, screen="photo", picture="")
            case "judging" if not self.walk:
                return Route(screen="concern", concern=self.concern)
            case "limit_ok" | "limit_not_ok" | "drop_sample" | "cover_sample":
                return replace(self, screen="judging", picture="")
            case "dated_count":
                return replace(self, screen="onset", check="")
            case "detail" | "measured" | "onset" | "weight":
                return replace(self, screen="answer", check="")
            case "answer" if not self.walk:
                return Route(screen="concern", concern=self.concern)
            case _:
                return replace(self, screen="station", check="")

    def to_place(self) -> dict[str, str]:
        """Turn it into what the store remembers."""
        return {field.name: getattr(self, field.name) for field in fields(self)}

    @classmethod
    def from_place(cls, place: dict[str, str]) -> Route:
        """Read back what :meth:`to_place` made; home when it says nothing usable."""
        known = {f.name: place[f.name] for f in fields(cls) if isinstance(place.get(f.name), str)}
        route = cls(**known)
        return route if route.screen in PAGES else cls()


NO_DEVICES = Devices()

NOT_KEPT = msg(
    "What is typed here could not be put on disk, so it is lost when the app ends: record it "
    "now, or delete old bundles or other files on this tablet and type on."
)

NOT_SET = msg(
    "This could not be put on disk, so nothing was changed: delete old bundles or other files "
    "on this tablet and set it once more."
)

_BEFORE = "before"
"""Running number of the next entry when something was in hand."""

_SAME_CHECK = ("station", "check")


class Session:
    """One run of the app on one store.

    Parameters
    ----------
    place
        What the actions work with.
    run_later
        The worker.
    go
        Shows another place.
    picture_folders
        Folders in which pictures may be found, at least one; the first is the one that a camera or
        a cable drops pictures in.
    bundles
        Folder in which bundles are written.
    aside
        A worker that no tap waits for; the same one where there is no other.
    devices
        What the tablet itself can do.
    picture_worker
        A worker that makes pictures for what is in view, and waits for no other work; `aside` where there
        is no other.
    language
        Code of the language to speak until another one is chosen; empty for the one that is set.
    """

    def __init__(
        self,
        place: Workplace,
        *,
        run_later: RunLater,
        go: Callable[[Route], None],
        picture_folders: tuple[Path, ...],
        bundles: Path,
        aside: RunLater | None = None,
        devices: Devices = NO_DEVICES,
        picture_worker: RunLater | None = None,
        language: str = "",
    ) -> None:
        self.place = place
        self._run_later = run_later
        self.go = go
        self.picture_folders = picture_folders
        self.bundles = bundles
        self.aside = aside or run_later
        self._answers_by = ""
        self.devices = devices
        self.picture_worker = picture_worker or self.aside
        self._releases: list[weakref.WeakMethod[Callable[[], None]]] = []
        self.cautions_read = ""
        """The audit and its station whose cautions were confirmed last; never kept, so that they are
        shown again when the station is opened anew."""
        self.merging: MergeWork | None = None
        """The merge that goes on, or has ended and was not looked at yet; none otherwise."""
        self._followers: list[tuple[Setting, Callable[[str], None]]] = []
        self._for_this_run = {LANGUAGE.word: language} if language else {}
        self.practise: Callable[[], None] | None = None
        """Opens practice in the same window; none where there is none, as in practice itself."""

    def beside(self, place: Workplace, *, pictures: Path, bundles: Path) -> Session:
        """Give a session of the same window on another store; what is set on this tablet holds there too.

        Parameters
        ----------
        place
            What its actions work with.
        pictures, bundles
            Its own folders for pictures that come in and bundles that go out.
        """
        session = Session(
            place,
            run_later=self._run_later,
            go=self.go,
            picture_folders=(pictures,),
            bundles=bundles,
            aside=self.aside,
            devices=self.devices,
            picture_worker=self.picture_worker,
            language=self._for_this_run.get(LANGUAGE.word, ""),
        )
        kept = self.place.store.place().items()
        session._remember({name: word for name, word in kept if name.startswith(SET)})
        return session

    def run_later(
        self, work: Callable[[], T], done: Callable[[T], None], failed: Callable[[WalkappError], None]
    ) -> None:
        """Run work on the worker, as :class:`RunLater`; the hand is told of what it has put on disk."""

        def run() -> tuple[T, Record | None]:
            before = self.place.newest
            made = work()
            newest = self.place.newest
            return made, newest if newest is not before else None

        def tell(result: tuple[T, Record | None]) -> None:
            made, newest = result
            if newest is not None:
                self.tell_hand("taken_back" if newest.why in TAKES_BACK else "recorded")
            done(made)

        self._run_later(run, tell, failed)

    def tell_hand(self, what: str) -> None:
        """Answer a touch the way that is set on this tablet: ``recorded``, ``taken_back``, ``refused``.

        Only a record that is on disk is told as recorded; nobody but :meth:`run_later` knows it.
        """
        self._answers_by = self._answers_by or self.setting(FEEDBACK)
        if self._answers_by != "off":
            self.devices.feedback.tell(what, self._answers_by)

    @cached_property
    def finder(self) -> Finder:
        """Searches the records; made and read when it is first needed."""
        from walkapp.actions.searching import Finder

        return Finder(self.place)

    @cached_property
    def thumbnails(self) -> Thumbnails:
        """Recorded pictures to show; imported late, since the first page shows none."""
        from walkapp.actions.thumbnails import Thumbnails

        return Thumbnails(self.place)

    @cached_property
    def pictures(self) -> PictureQueue:
        """Pictures that wait to be taken in; imported late, since the first page takes none in."""
        from walkapp.presenters.picture_queue import PictureQueue

        return PictureQueue(self)

    def when_memory_is_low(self, release: Callable[[], None]) -> None:
        """Call a method as well when memory is low, as long as its object lives.

        Parameters
        ----------
        release
            A bound method that drops what can be made again; called on the thread that draws.
        """
        self._releases = [one for one in self._releases if one() is not None]
        self._releases.append(weakref.WeakMethod(release))

    def release_memory(self) -> None:
        """Drop everything that can be made or read again; call when the system says that memory is low.

        Call on the thread that draws. What is shown stays shown, and all pages go on working.
        """
        if "thumbnails" in self.__dict__:
            self.thumbnails.release()
        if "finder" in self.__dict__:
            # On the worker: it may have to wait until a piece of the index is written.
            self.run_later(self.finder.close, lambda _: None, lambda _: None)
        for release in self._releases:
            if (method := release()) is not None:
                method()
        gc.collect()

    def remember_route(self, route: Route) -> None:
        """Keep the place in the store, so that a restart opens there; drafts stay as they are."""
        self._remember({**route.to_place(), "scroll": ""})

    def remember_scroll(self, places: Sequence[float]) -> None:
        """Keep how far the page of the remembered place is scrolled, until another place is remembered."""
        self._remember({"scroll": " ".join(f"{place:.4f}" for place in places)})

    def remembered_scroll(self) -> tuple[float, ...]:
        """Give how far all that scrolls on the page was scrolled: 1 at the top, 0 at the end."""
        try:
            places = tuple(float(word) for word in self.place.store.place().get("scroll", "").split())
        except ValueError:
            return ()
        return tuple(min(max(place, 0.0), 1.0) for place in places)

    def remembered_route(self) -> Route:
        """Give the place kept last; home when there is none."""
        return Route.from_place(self.place.store.place())

    def keep_draft(self, name: str, values: dict[str, str]) -> None:
        """Keep half-filled fields through back button, restart and empty battery.

        Raises
        ------
        StoreError
            If the disk refuses: they are then kept until the app ends, and no longer.
        """
        if not self._remember({f"draft {name}": json.dumps(values)}):
            raise StoreError(tr(NOT_KEPT))

    def keep_in_hand(self, route: Route, values: dict[str, str]) -> None:
        """Keep what was begun on a page and is no entry yet, such as digits on its pad.

        Parameters
        ----------
        route
            The page.
        values
            What its presenter has in hand; nothing to forget what was kept.

        Raises
        ------
        StoreError
            As for :meth:`keep_draft`.
        """
        name = _hand_name(route)
        if values:
            self.keep_draft(name, {**values, _BEFORE: str(self.place.store.next_number)})
        elif f"draft {name}" in self.place.store.place():
            self.drop_draft(name)

    def in_hand(self, route: Route) -> dict[str, str]:
        """Give what was in hand on a page; nothing once this tablet has made an entry there since.

        The app may end between an entry and the forgetting of what it was made of: what is an entry
        already must never be offered as if it were none.
        """
        values = self.draft(_hand_name(route))
        before = values.pop(_BEFORE, "")
        if not (before.isascii() and before.isdigit() and len(before) <= 16):
            return {}
        store = self.place.store
        for record in store.records(route.walk or route.concern):
            is_newer = record.device == store.device and record.number >= int(before)
            is_here = all(getattr(record, name, "") in ("", getattr(route, name)) for name in _SAME_CHECK)
            if is_newer and is_here:
                return {}
        return values

    def drop_draft(self, name: str) -> None:
        """Forget half-filled fields that were recorded."""
        kept = self.place.store.place()
        kept.pop(f"draft {name}", None)
        self.place.store.remember(kept)

    def draft(self, name: str) -> dict[str, str]:
        """Give half-filled fields, or an empty mapping."""
        try:
            values: Any = json.loads(self.place.store.place().get(f"draft {name}", "{}"))
        except ValueError:
            return {}
        if not isinstance(values, dict):
            return {}
        return {str(k): v for k, v in values.items() if isinstance(v, str)}

    def remember_person(self, by: str) -> None:
        """Keep role and initials for the next records and the next start."""
        self.place.by = by
        self._remember({"by": by})

    def remember_clean(self, word: str) -> None:
        """Keep what "clean" means on this tablet."""
        self._remember({"clean": word})

    def remembered_clean(self) -> str:
        """Give what was kept; empty when nothing was."""
        return self.place.store.place().get("clean", "")

    def remember_layer(self, layer: str) -> None:
        """Keep whose audits this tablet shows; empty for all layers."""
        self._remember({"audit layer": layer})

    def remembered_layer(self) -> str:
        """Give whose audits this tablet shows; empty for all layers."""
        return self.place.store.place().get("audit layer", "")

    def setting(self, setting: Setting) -> str:
        """Give what is set on this tablet, or was asked for when the app was started."""
        return self._for_this_run.get(setting.word) or setting.read(self.place.store.place())

    def set_setting(self, setting: Setting, word: str) -> None:
        """Keep what was set; on disk when it returns.

        Raises
        ------
        StoreError
            If the disk refuses; nothing is set then.
        """
        before = self.setting(setting)
        is_kept = self._remember({f"{SET}{setting.word}": word})
        self._answers_by = ""
        if not is_kept:
            self._remember({f"{SET}{setting.word}": before})
            raise StoreError(tr(NOT_SET))
        self._for_this_run.pop(setting.word, None)

    def speak(self, word: str) -> bool:
        """Speak what is chosen as language, from now on; give whether it is another one than before."""
        before = current()
        speak(word, self.devices.language)
        return current() is not before

    def follow(self, setting: Setting, effect: Callable[[str], None]) -> None:
        """Let something take effect: with what is set now, and with whatever is set later.

        Parameters
        ----------
        setting
            What is set.
        effect
            Called with the chosen word at once, and on the thread that draws each time another one
            is on disk; what follows already is only called.
        """
        if (setting, effect) not in self._followers:
            self._followers.append((setting, effect))
        effect(self.setting(setting))

    def tell_set(self, setting: Setting, word: str) -> None:
        """Let a setting that is on disk take effect; called on the thread that draws."""
        for followed, effect in self._followers:
            if followed.word == setting.word:
                effect(word)

    def options_here(self, setting: Setting) -> tuple[tuple[str, str], ...]:
        """Give the options of a setting that this tablet can do; on the worker, it may ask its devices."""
        if setting is not FEEDBACK:
            return setting.options
        ways = self.devices.feedback.ways
        here = {"off", *ways, *(("both",) if len(ways) > 1 else ())}
        return tuple(option for option in setting.options if option[0] in here)

    def _remember(self, more: dict[str, str]) -> bool:
        return self.place.store.remember({**self.place.store.place(), **more})


def _hand_name(route: Route) -> str:
    """Name what is in hand on a page: the same whichever unit is chosen there and whatever led there."""
    return " ".join(replace(route, unit="", through="").to_place().values())
