"""What a tablet keeps from one start to the next beside its records: the place, and what is half typed."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from walkapp.errors import StoreError
from walkapp.language import msg, tr
from walkapp.presenters.route import Route

if TYPE_CHECKING:
    from walkapp.actions.workplace import Workplace

NOT_KEPT = msg(
    "What is typed here could not be put on disk, so it is lost when the app ends: record it "
    "now, or delete old bundles or other files on this tablet and type on."
)

_BEFORE = "before"
"""Running number of the next entry when something was in hand."""

_SAME_CHECK = ("station", "check")


class Kept:
    """What lies in the note of the place. It is no record, and nothing is worked out from it.

    Parameters
    ----------
    place
        What the actions work with; its store has the note.
    """

    def __init__(self, place: Workplace) -> None:
        self._place = place

    def words(self) -> dict[str, str]:
        """Give all of it."""
        return self._place.store.place()

    def keep(self, more: dict[str, str]) -> bool:
        """Keep some more until it is kept anew; give whether it is on disk, and not in memory alone."""
        return self._place.store.remember({**self._place.store.place(), **more})

    def keep_route(self, route: Route) -> None:
        """Keep the place in the store, so that a restart opens there; drafts stay as they are."""
        self.keep({**route.to_place(), "scroll": ""})

    def keep_scroll(self, places: Sequence[float]) -> None:
        """Keep how far the page of the remembered place is scrolled, until another place is remembered."""
        self.keep({"scroll": " ".join(f"{place:.4f}" for place in places)})

    def scroll(self) -> tuple[float, ...]:
        """Give how far all that scrolls on the page was scrolled: 1 at the top, 0 at the end."""
        try:
            places = tuple(float(word) for word in self._place.store.place().get("scroll", "").split())
        except ValueError:
            return ()
        return tuple(min(max(place, 0.0), 1.0) for place in places)

    def route(self) -> Route:
        """Give the place kept last; home when there is none."""
        return Route.from_place(self._place.store.place())

    def keep_draft(self, name: str, values: dict[str, str]) -> None:
        """Keep half-filled fields through back button, restart and empty battery.

        Raises
        ------
        StoreError
            If the disk refuses: they are then kept until the app ends, and no longer.
        """
        if not self.keep({f"draft {name}": json.dumps(values)}):
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
            self.keep_draft(name, {**values, _BEFORE: str(self._place.store.next_number)})
        elif f"draft {name}" in self._place.store.place():
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
        store = self._place.store
        for record in store.records(route.walk or route.concern):
            is_newer = record.device == store.device and record.number >= int(before)
            is_here = all(getattr(record, name, "") in ("", getattr(route, name)) for name in _SAME_CHECK)
            if is_newer and is_here:
                return {}
        return values

    def drop_draft(self, name: str) -> None:
        """Forget half-filled fields that were recorded."""
        kept = self._place.store.place()
        kept.pop(f"draft {name}", None)
        self._place.store.remember(kept)

    def draft(self, name: str) -> dict[str, str]:
        """Give half-filled fields, or an empty mapping."""
        try:
            values: Any = json.loads(self._place.store.place().get(f"draft {name}", "{}"))
        except ValueError:
            return {}
        if not isinstance(values, dict):
            return {}
        return {str(k): v for k, v in values.items() if isinstance(v, str)}

    def keep_clean(self, word: str) -> None:
        """Keep what "clean" means on this tablet."""
        self.keep({"clean": word})

    def clean(self) -> str:
        """Give what was kept; empty when nothing was."""
        return self._place.store.place().get("clean", "")

    def keep_layer(self, layer: str) -> None:
        """Keep whose audits this tablet shows; empty for all layers."""
        self.keep({"audit layer": layer})

    def layer(self) -> str:
        """Give whose audits this tablet shows; empty for all layers."""
        return self._place.store.place().get("audit layer", "")


def _hand_name(route: Route) -> str:
    """Name what is in hand on a page: the same whichever unit is chosen there and whatever led there."""
    return " ".join(replace(route, unit="", through="").to_place().values())
