"""A place in the app: what a page is about, where "back" leads, and how the store remembers it."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

from walkapp.presenters.pages import PAGES, PARENTS


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
