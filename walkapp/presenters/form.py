"""Pages on which a few fields are filled in and recorded together.

A half-filled form is kept in the store at every change, so that the back button, a restart or an
empty battery loses nothing. What the page records is on disk before the page closes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import timedelta

from walkapp.actions.reading import walk_facts
from walkapp.actions.walking import Walking
from walkapp.errors import InputError, RecordError, WalkappError
from walkapp.language import tr
from walkapp.presenters.frame import FrameState, Sight, frame_of
from walkapp.presenters.held import let_go, scan_keys
from walkapp.presenters.kept import NOT_KEPT
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session


@dataclass(frozen=True, slots=True, kw_only=True)
class FormField:
    """One field of a form.

    Parameters
    ----------
    name
        Name of the record's field.
    label
        What is asked, in words.
    form
        ``words``, ``choice``, ``offered`` (words, with likely ones to tap), ``day`` or ``whole``.
    value
        What was filled in so far.
    options
        Pairs of word and label of a choice; for offered words and a day, those that are buttons.
    hint
        An example or an explanation.
    is_required
        Whether it must be filled in.
    lines
        Lines of text to show.
    """

    name: str
    label: str
    form: str = "words"
    value: str = ""
    options: tuple[tuple[str, str], ...] = ()
    hint: str = ""
    is_required: bool = False
    lines: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class FormState:
    """Everything a form page shows.

    Parameters
    ----------
    title
        What the page is for.
    cautions
        What has to be read before it is recorded.
    words
        What the form is about, a line each, above its fields.
    fields
        The fields with what was filled in so far.
    advice
        What the form says about what was filled in so far.
    do
        Words of the button that records it.
    other
        Words of a second button, which leads elsewhere; empty for none.
    frame
        What surrounds a page of a walk; none outside a walk.
    problem
        What is missing or wrong; empty when nothing is.
    ahead
        Name of the field that the page moves to; empty to stay.
    """

    title: str = ""
    cautions: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    fields: tuple[FormField, ...] = ()
    advice: tuple[str, ...] = ()
    do: str = ""
    other: str = ""
    frame: FrameState | None = None
    problem: str = ""
    ahead: str = ""


class FormPage(Observed[FormState]):
    """Presents a form; each form says what it asks and what it records.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page.
    """

    screen = "form"
    title = ""
    do = ""
    """What the page is for, and the words of its button; a form gives them as the catalogues have them."""
    is_in_walk = True
    """Whether a form that is opened from a walk has the walk around it."""

    def __init__(self, session: Session, route: Route) -> None:
        self.title, self.do = tr(self.title), tr(self.do)
        super().__init__(FormState(title=self.title, do=self.do))
        self.session = session
        self.route = route
        self._values: dict[str, str] = {}
        self._sight: Sight | None = None
        self._is_open = False
        self._is_recording = False

    def open(self) -> None:
        """Show the form, with what was filled in before."""

        def run() -> FormState:
            if self.route.walk and self.is_in_walk:
                walk = walk_facts(self.session.place, self.route.concern, self.route.walk)
                here = walk.stream.station(self.route.station)
                order = here.order if here else None
                self._sight = Sight(walk, walk.facts.locate(here=order, thorough=False))
            self._values = {**self._first_values(), **self.session.kept.draft(self._draft_name)}
            frame = frame_of(self._sight, self.route.station) if self._sight else None
            if frame is not None and self._sight is not None:
                frame = replace(frame, scan=scan_keys(self.session, self.route, self._sight.walk))
            self._is_open = True
            return FormState(
                title=self.title,
                do=self.do,
                other=self._other_words(),
                cautions=self._cautions(),
                words=self._words(),
                fields=self._filled(),
                advice=self._advice(),
                frame=frame,
            )

        self.session.run_later(run, self._show, self.fail)

    def look_again(self) -> None:
        """Offer the days of today; what was filled in stays."""
        self.open()

    def fill(self, name: str, value: str) -> None:
        """Fill in a field; what was filled in is kept even if the page is left."""
        if self._values.get(name, "") == value:
            return
        self._values[name] = value
        self._show(
            replace(
                self.state,
                fields=self._filled(),
                advice=self._advice(),
                problem=self.state.problem if self.state.problem == tr(NOT_KEPT) else "",
                ahead=self._next_field(name, value),
            )
        )
        values = dict(self._values)
        self.session.run_later(
            lambda: self.session.kept.keep_draft(self._draft_name, values),
            lambda _: self._kept(),
            self.fail,
        )

    def _kept(self) -> None:
        """The disk takes again what is typed."""
        if self.state.problem == tr(NOT_KEPT):
            self._show(replace(self.state, problem=""))

    def record(self) -> None:
        """Record what was filled in and go on; says what is missing otherwise.

        A form that could not be opened records nothing; it goes on saying why. While it is being
        recorded it is not recorded once more, however long the disk takes.
        """
        if not self._is_open or self._is_recording:
            return
        missing = [f.label for f in self.state.fields if f.is_required and not f.value.strip()]
        if missing:
            words = tr("Still needed: {missing}.", missing=", ".join(missing))
            self._show(replace(self.state, problem=words, ahead=""))
            return
        values = {f.name: f.value.strip() for f in self.state.fields}

        def run() -> Route:
            route = self._keep(values)
            self.session.kept.drop_draft(self._draft_name)
            return route

        def done(route: Route) -> None:
            self._is_recording = False
            self.session.go(route)

        self._is_recording = True
        self.session.run_later(run, done, self.fail)

    def undo(self) -> None:
        """Take back the newest entry of this tablet in this walk; what was filled in stays."""

        def run() -> None:
            now = walk_facts(self.session.place, self.route.concern, self.route.walk)
            Walking(self.session.place, self.route.concern, self.route.walk).undo(now)

        self.session.run_later(run, lambda _: self.open(), self.fail)

    def to_station(self, station: str) -> None:
        """Go to another station of the walk."""
        self.session.go(replace(self.route, screen="station", station=station, check=""))

    def to_answer(self) -> None:
        """Go to the first-bad-station view."""
        self.session.go(replace(self.route, screen="answer", check=""))

    def other(self) -> None:
        """Do what the second button says, if the form has one."""

    def scan(self) -> None:
        """Open the page that reads codes; it leads back here."""
        self.session.go(self.route.down("scan"))

    def let_go(self) -> None:
        """Let go of the part that is held."""
        self.session.run_later(lambda: let_go(self.session), lambda _: self.open(), self.fail)

    def take_text(self, text: str) -> None:
        """Take what a hand scanner sent, on a form of a walk."""
        # Late: most forms are never scanned on.
        from walkapp.presenters.taking import take_text

        if self.route.walk and self.is_in_walk:
            self.session.run_later(
                lambda: take_text(self.session, self.route, text), self._show_taken, self.fail
            )

    def _show_taken(self, route: Route) -> None:
        if route == self.route:
            self.open()
        else:
            self.session.go(route)

    def back(self) -> None:
        """Go one level up; what was filled in stays."""
        self.session.go(self.route.up())

    @property
    def _draft_name(self) -> str:
        return draft_name(self.route)

    def _typed_number(self, name: str) -> int | None:
        """Give a number that is being typed; none while it is not one."""
        text = self._values.get(name, "").strip()
        return int(text) if text.isascii() and text.isdigit() and len(text) <= 9 else None

    def _first_values(self) -> dict[str, str]:
        """Say what stands in the fields at first."""
        return {}

    def _cautions(self) -> tuple[str, ...]:
        """Say what has to be read first."""
        return ()

    def _words(self) -> tuple[str, ...]:
        """Say what the form is about, where its title does not say it."""
        return ()

    def _other_words(self) -> str:
        """Name the second button; empty for none."""
        return ""

    def _fields(self) -> tuple[FormField, ...]:
        """Say what is asked, given what was filled in so far."""
        raise NotImplementedError

    def _advice(self) -> tuple[str, ...]:
        """Say what follows from what was filled in so far."""
        return ()

    def _next_field(self, name: str, value: str) -> str:
        """Name the field that is asked next, once this one was filled in; empty to stay where one is."""
        return ""

    def _keep(self, values: Mapping[str, str]) -> Route:
        """Record it; give the place to go to."""
        raise NotImplementedError

    def _filled(self) -> tuple[FormField, ...]:
        return tuple(
            replace(field, value=_offered(field, self._values.get(field.name, field.value)))
            for field in self._fields()
        )

    def _days(self) -> tuple[tuple[str, str], ...]:
        today = self.session.place.now().date()
        yesterday = today - timedelta(days=1)
        return ((today.isoformat(), tr("today")), (yesterday.isoformat(), tr("yesterday")))

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._is_recording = False
        self._show(replace(self.state, problem=self._in_words(error), ahead=""))

    def _in_words(self, error: WalkappError) -> str:
        """A record names its own field; the page shows the label that the person sees."""
        words = str(error)
        if isinstance(error, RecordError):
            name, _, rest = words.partition(" ")
            label = next((f.label for f in self.state.fields if f.name == name), "")
            return f"{label}: {rest}." if label else f"{words}."
        return words


def as_options(words: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Offer words as they are read; what is tapped is recorded so, as if it had been typed."""
    return tuple((word, word) for word in words)


def draft_name(route: Route) -> str:
    """Name what was filled in on the form of a place, half-filled or from elsewhere."""
    return " ".join(route.to_place().values())


def whole_number(text: str, label: str, example: int) -> int | None:
    """Read a whole number that was typed; none when nothing was.

    Raises
    ------
    InputError
        If it is something else, with the label of the field.
    """
    if not text:
        return None
    # No number of parts has more digits; Python refuses to read thousands of them.
    if not (text.isascii() and text.isdigit() and len(text) <= 16):
        raise InputError(
            tr("{label}: must be a whole number such as {example}.", label=label, example=example)
        )
    return int(text)


def _offered(field: FormField, value: str) -> str:
    """Drop a choice that is no longer offered, such as a defect of another value stream."""
    if field.form == "choice" and value not in {word for word, _ in field.options}:
        return ""
    return value
