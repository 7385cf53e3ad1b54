"""The page of one picture: look at it, draw marks over it, change one, or go on to cover people in it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from walkapp.actions.books import Facts, facts_of
from walkapp.actions.copies import Copies, copies_by_photo
from walkapp.actions.marks import (
    NO_MARKS,
    Marks,
    add_mark,
    change_mark,
    mark_of,
    marks_on,
    newest_mark,
    recorded_photo,
    remove_mark,
    undo_mark,
    width_of,
)
from walkapp.actions.pictures import LARGE_PX, Picture, shown_picture
from walkapp.errors import InputError, WalkappError
from walkapp.language import tr, tr_each
from walkapp.model.drawings import Drawing, Point
from walkapp.model.records import Photo, PictureMark, Record
from walkapp.model.strokes import (
    arrow_at,
    arrow_to,
    distance,
    line_along,
    ring_around,
    ring_at,
    words_at,
)
from walkapp.presenters.drawn import MarkView, Share, view_of
from walkapp.presenters.mark_tools import (
    CANNOT,
    CHOSEN,
    HINTS,
    NAMES,
    NOTHING_TO_DRAW_ON,
    PUT_WORDS,
    READY_WORDS,
    REWORD,
    STEP,
    MarkState,
    Tool,
    facts_lines,
    saved_words,
    tools_of_change,
    tools_of_drawing,
    tools_of_words,
    undo_words,
)
from walkapp.presenters.observe import Observed
from walkapp.presenters.picture_choice import tile_of
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session

# no text: the name of a draft
TYPED_WORDS = "words on pictures"
"""Name under which the words that were typed last are kept."""


@dataclass(frozen=True, slots=True)
class _Seen:
    """What was read of the picture."""

    photo: Photo
    facts: Facts
    copies: Copies | None
    picture: Picture
    typed: str


@dataclass(frozen=True, slots=True)
class _Drawn:
    """What was read of its marks."""

    marks: Marks
    newest: Record | None
    views: tuple[MarkView, ...]


class MarkPage(Observed[MarkState]):
    """Presents one picture and its marks.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page; it names the picture, and which mark is chosen or which tool is used.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(MarkState(title=tr("Picture"), hint=tr(HINTS[""])))
        self.session = session
        self.route = route
        self._seen: _Seen | None = None
        self._marks = NO_MARKS
        self._newest: Record | None = None
        self._tool = route.mark if route.mark in NAMES else ""
        self._chosen = "" if self._tool else route.mark
        self._words = ""
        self._is_rewording = False
        self._renamed: dict[str, str] = {}

    # reading

    def open(self) -> None:
        """Read the picture and its marks."""

        def run() -> tuple[_Seen, _Drawn]:
            seen = self._look()
            return seen, self._read(seen)

        def done(found: tuple[_Seen, _Drawn]) -> None:
            self._seen = found[0]
            if self._tool == "words" and not self._words:
                self._words = found[0].typed
            self._take(found[1])

        self.session.run_later(run, done, self.fail)

    def _look(self) -> _Seen:
        place = self.session.place
        facts = facts_of(place, self.route.concern)
        photo = recorded_photo(facts, self.route.picture, self.route.walk)
        copies = copies_by_photo(facts.standing).get(photo.sha256)
        picture = shown_picture(place, photo, copies, LARGE_PX, drawings=())
        typed = self.session.kept.draft(TYPED_WORDS).get("words", "")
        return _Seen(photo, facts, copies, picture, typed)

    def _read(self, seen: _Seen) -> _Drawn:
        marks = marks_on(self.session.place, seen.photo)
        size = seen.picture.size
        views = tuple(view_of(mark.drawing, size, mark.id) for mark in marks.drawn)
        return _Drawn(marks, newest_mark(self.session.place, seen.photo), views)

    # the finger

    def sketch(self, points: Sequence[Share]) -> MarkView | None:
        """Give what would be drawn if the finger were lifted now; none for nothing.

        Parameters
        ----------
        points
            Where the finger came down and where it is, in shares of the picture.
        """
        drawing = self._drawing(points)
        return None if drawing is None or self._seen is None else view_of(drawing, self._seen.picture.size)

    def draw(self, points: Sequence[Share]) -> None:
        """A finger was drawn across the picture: keep what it drew, or move the chosen mark."""
        chosen = self._chosen_mark()
        if chosen is not None:
            across, down = (last - first for first, last in zip(points[0], points[-1], strict=True))
            self._change(chosen, lambda drawing: drawing.moved(across, down))
        elif self._tool == "line" and self._seen is not None and self.state.picture:
            # Thousands of points: the worker makes a small line of them.
            trail, size = [Point(*point) for point in points], self._seen.picture.size
            self._record(
                lambda photo: add_mark(self.session.place, photo, line_along(trail, *size)),
                Drawing("line", tuple(trail)),
            )
        elif (drawing := self._drawing(points)) is not None:
            self._add(drawing)
        else:
            self._arrange(problem="", saved="")

    def tap(self, at: Share, reach: float) -> None:
        """A finger tapped the picture: choose the mark there, let go of one, or draw one of usual size.

        Parameters
        ----------
        at
            Where, in shares.
        reach
            How far off a mark may be, in shares of the width.
        """
        if self._seen is None or not self.state.picture:
            return
        width, height = self._seen.picture.size
        if found := self._near(Point(*at), reach * width):
            self._choose(found.id)
        elif self._chosen:
            self._choose("")
        elif self._tool == "arrow":
            self._add(arrow_at(Point(*at), width, height))
        elif self._tool == "ring":
            self._add(ring_at(Point(*at), width, height))
        elif self._tool == "words" and self._words:
            self._add(words_at(Point(*at), self._words))

    def _drawing(self, points: Sequence[Share]) -> Drawing | None:
        if self._seen is None or not self.state.picture:
            return None
        size = self._seen.picture.size
        first, last = Point(*points[0]), Point(*points[-1])
        if chosen := self._chosen_mark():
            return chosen.drawing.moved(last.across - first.across, last.down - first.down)
        match self._tool:
            case "arrow":
                drawing = arrow_to(first, last)
                return None if drawing.problem() else drawing
            case "ring":
                return ring_around(first, last, *size)
            case "words" if self._words:
                return words_at(last, self._words)
            case _:
                return None

    def _near(self, at: Point, reach_px: float) -> PictureMark | None:
        assert self._seen is not None
        size = self._seen.picture.size
        far = [
            (distance(one.drawing, at, width_of(one.words), *size), place)
            for place, one in enumerate(self._marks.drawn)
        ]
        apart, place = min(far, default=(reach_px + 1, 0))
        return self._marks.drawn[place] if apart <= reach_px else None

    # the buttons

    def press(self, name: str) -> None:
        """Do what a button says."""
        chosen = self._chosen_mark()
        match name:
            case "arrow" | "ring" | "line" | "words":
                self._tool = "" if name == self._tool else name
                self._arrange(problem="", saved="")
            case "tools":
                self._tool, self._is_rewording = ("", False) if not chosen else (self._tool, False)
                self._arrange()
            case "reword":
                self._is_rewording = True
                self._arrange()
            case "done":
                self._choose("")
            case "type":
                mark = self._chosen if chosen else "words"
                self.session.go(self.route.down("mark_words", mark=mark))
            case "cover":
                self._cover()
            case "larger" | "smaller" if chosen and self._seen:
                factor, size = STEP if name == "larger" else 1 / STEP, self._seen.picture.size
                if chosen.drawing.resized(factor, *size) == chosen.drawing:
                    self._arrange(saved="", problem=tr(CANNOT[name]))
                else:
                    self._change(chosen, lambda drawing: drawing.resized(factor, *size))
            case "remove" if chosen:
                self._chosen = ""
                self._record(
                    lambda photo: remove_mark(self.session.place, photo, self._now_called(chosen.id)), None
                )
            case _:
                if name.startswith("word-"):
                    self._take_words(self._offered()[int(name.removeprefix("word-"))])

    def undo(self) -> None:
        """Undo what this tablet did last to the marks of this picture."""
        self._record(lambda photo: undo_mark(self.session.place, photo), None)

    def back(self) -> None:
        """Go back to where the picture was chosen."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong; what was being put on disk is not there."""
        self._arrange(problem=str(error), saved="", pending=())

    def _take_words(self, words: str) -> None:
        chosen = self._chosen_mark()
        if chosen is None:
            self._words = words
            self._arrange(problem="", saved="")
        elif words != chosen.words:
            self._is_rewording = False
            self._change(chosen, lambda drawing: replace(drawing, words=words))
        else:
            self._is_rewording = False
            self._arrange()

    def _cover(self) -> None:
        if self._seen is not None:
            photo = self._seen.photo
            # Outside any walk the page keeps the walk from which it was reached, for the way back.
            where = {"walk": photo.walk, "station": photo.station} if photo.walk else {}
            screen = "cover" if photo.walk else "cover_sample"
            self.session.go(self.route.down(screen, **where))

    # recording

    def _add(self, drawing: Drawing) -> None:
        self._record(lambda photo: add_mark(self.session.place, photo, drawing), drawing)

    def _change(self, mark: PictureMark, alter: Callable[[Drawing], Drawing]) -> None:
        """Change a mark as it is when the worker comes to it: an earlier change may still be waiting."""

        def work(photo: Photo) -> Record:
            old = mark_of(self.session.place, photo, self._now_called(mark.id))
            made = change_mark(self.session.place, photo, old.id, alter(old.drawing))
            self._renamed[old.id] = made.id
            return made

        self._record(work, alter(mark.drawing))

    def _now_called(self, mark: str) -> str:
        """Give the id that a mark has now; on the worker alone."""
        while mark in self._renamed:
            mark = self._renamed[mark]
        return mark

    def _record(self, work: Callable[[Photo], Record], drawing: Drawing | None) -> None:
        """Put something on disk, and show it as kept only then."""
        seen = self._seen
        if seen is None:
            self.fail(InputError(tr("The picture is still being read; try again in a moment.")))
            return
        if drawing is not None:
            pending = (*self.state.pending, view_of(drawing, seen.picture.size))
            self._show(replace(self.state, pending=pending))

        def run() -> tuple[Record, _Drawn]:
            made = work(seen.photo)
            return made, self._read(seen)

        def done(found: tuple[Record, _Drawn]) -> None:
            made, drawn = found
            if isinstance(made, PictureMark) and self._chosen in made.replaces:
                self._chosen = made.id
            is_pending = drawing is not None
            self._take(drawn, saved=saved_words(made), pending=self.state.pending[is_pending:])

        def failed(error: WalkappError) -> None:
            self.fail(error)
            # What was drawn or taken away meanwhile elsewhere may be why.
            self.session.run_later(
                lambda: self._read(seen), lambda drawn: self._take(drawn, problem=str(error)), self.fail
            )

        self.session.run_later(run, done, failed)

    # showing

    def _take(self, drawn: _Drawn, **more: object) -> None:
        self._marks, self._newest = drawn.marks, drawn.newest
        self._arrange(marks=drawn.views, **{"problem": "", **more})

    def _choose(self, key: str) -> None:
        self._chosen, self._is_rewording = key, False
        self._arrange(problem="", saved="")

    def _chosen_mark(self) -> PictureMark | None:
        return next((one for one in self._marks.drawn if one.id == self._chosen), None)

    def _arrange(self, **more: object) -> None:
        """Show the page anew: buttons and hint follow from the tool and from what is chosen."""
        chosen = self._chosen_mark()
        if chosen is None:
            self._chosen, self._is_rewording = "", False
        state = self.state
        if (seen := self._seen) is not None:
            has_picture = not seen.picture.trouble
            station = seen.facts.stream.station(seen.photo.station) if seen.facts.stream else None
            title = (
                tr("{order}  {station}: picture", order=station.order, station=station.name)
                if station
                else tr("Picture")
            )
            picture = self.state.picture or (tile_of(seen.picture) if has_picture else None)
            state = replace(
                state,
                title=title,
                subtitle=seen.facts.what,
                picture=picture,
                undo=undo_words(self._newest),
                facts=facts_lines(seen.photo, seen.copies, self._marks),
            )
        self._show(
            replace(
                state,
                chosen=self._chosen,
                is_freehand=self._tool == "line" and chosen is None,
                tools=self._tools(chosen),
                hint=self._hint(chosen),
                **more,  # type: ignore[arg-type]
            )
        )

    def _hint(self, chosen: PictureMark | None) -> str:
        if self._seen is not None and self._seen.picture.trouble:
            return f"{self._seen.picture.trouble}. {tr(NOTHING_TO_DRAW_ON)}"
        if chosen is not None:
            return tr(REWORD) if self._is_rewording else tr(CHOSEN)
        if self._tool == "words" and self._words:
            return tr(PUT_WORDS, words=self._words)
        return tr(HINTS[self._tool])

    def _tools(self, chosen: PictureMark | None) -> tuple[Tool, ...]:
        if self._is_rewording or (chosen is None and self._tool == "words"):
            return tools_of_words(self._offered(), chosen.words if chosen else self._words)
        if chosen is not None:
            return tools_of_change(has_words=bool(chosen.words))
        return tools_of_drawing(self._tool, is_off=self._seen is None or bool(self._seen.picture.trouble))

    def _offered(self) -> tuple[str, ...]:
        """Give the words to tap: those typed last, and those ready made."""
        typed = self._seen.typed if self._seen else ""
        return tuple(dict.fromkeys(filter(None, (typed, *tr_each(READY_WORDS)))))
