"""The page that reads codes: a live view to aim with, and the ways to a text without one.

Frames are read on the worker that no tap waits for, one at a time. What is read goes to the page that led
here (:mod:`walkapp.presenters.taking`); nothing is recorded by scanning alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from walkapp.actions.scanning import Code, codes_in_file, codes_in_frame
from walkapp.analysis.wording import in_one_line
from walkapp.errors import DeviceError, WalkappError
from walkapp.language import msg, tr
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.devices import Frame, PictureSource
from walkapp.presenters.observe import Observed
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Session
from walkapp.presenters.taking import meant_for, take_text
from walkapp.visible import visible

AIM_SHARE = 0.6
"""Part of the width and height of the picture that the aim frame takes, in its middle."""

MOST_PREVIEW_PX = 2048
"""Longest side of a picture that is shown; an older graphics chip shows nothing beyond."""

AIM = msg("Hold the code inside the frame, a bar code level; it is taken as soon as it is read.")
SEVERAL = msg("There are several codes: tap the one that is meant, or aim at one alone.")
NO_CAMERA = msg(
    "There is no camera to aim with here: use a picture, type what stands on the part, or a hand scanner."
)
WAITING = msg("The camera is being opened.")
MOST_SHOWN = 60
"""Letters of a code that are shown in a row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """What the camera sees.

    Parameters
    ----------
    frame
        The newest picture; none while there is none, or for one that is too large to be shown.
    places
        Where codes are seen in it: left, top, right and bottom as shares of its width and height, from the
        top left.
    """

    frame: Frame | None = None
    places: tuple[tuple[float, float, float, float], ...] = ()


class Eye(Observed[Preview]):
    """What the camera sees; told apart from what the page says, which does not change with each frame."""

    def see(self, preview: Preview) -> None:
        """Show another picture."""
        self._show(preview)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanState(BoardState):
    """Everything the page shows beside what the camera sees.

    Parameters
    ----------
    has_view
        Whether there is a live view.
    """

    has_view: bool = False


def chosen_code(
    codes: Sequence[Code], size: tuple[int, int], before: Sequence[Code]
) -> tuple[Code | None, tuple[Code, ...]]:
    """Say which code of a frame is meant, if that is certain.

    Parameters
    ----------
    codes
        The codes in it.
    size
        Width and height of the frame in pixels.
    before
        The codes of the frame before.

    Returns
    -------
    code
        The only one inside the aim frame, or in the whole frame where none is inside it. A bar code only
        when the frame before had it as well: it has less to tell a misreading by. None otherwise.
    several
        Those among which a person has to choose; empty unless there are several.
    """
    width, height = size
    margin_x, margin_y = width * (1 - AIM_SHARE) / 2, height * (1 - AIM_SHARE) / 2
    inside = [
        code
        for code in codes
        if margin_x <= code.middle[0] <= width - margin_x
        and margin_y <= code.middle[1] <= height - margin_y
    ]
    meant = {code.text: code for code in inside or codes}
    if len(meant) > 1:
        return None, tuple(meant.values())
    code = next(iter(meant.values()), None)
    if code is not None and code.is_linear and all(one.text != code.text for one in before):
        return None, ()
    return code, ()


class ScanPage(BoardPage):
    """Presents the live view, and what else there is to scan with.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page; "back" leads to the one that the code is meant for.
    """

    screen = "scan"

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route)
        self.eye = Eye(Preview())
        self._live = session.devices.live
        self._is_on = False
        self._is_looking = self._is_taking = False
        self._refused: tuple[str, str] | None = None
        self._before: tuple[Code, ...] = ()
        self._several: tuple[Code, ...] = ()
        self._asked: PictureSource | None = None
        self._show(self._words(tr(WAITING) if self._live is not None else tr(NO_CAMERA)))

    def open(self) -> None:
        """Open the camera, where there is one."""
        if self._live is not None and not self._is_on:
            self._is_on = True
            self.session.aside(self._live.open, lambda _: self._started(), self._no_camera)

    def rest(self) -> None:
        """Let go of the camera; in its turn, so that no frame is being read then."""
        self._is_on = False
        if self._live is not None:
            self.session.aside(self._live.close, lambda _: None, lambda _: None)

    def stop(self) -> None:
        """The page is left: let go of the camera, and of a picture that was asked for."""
        self.rest()
        if self._asked is not None:
            self._asked.cancel()
            self._asked = None

    def look(self) -> None:
        """Read the newest frame, unless one is being read or a person is choosing."""
        live = self._live
        if live is None or not self._is_on or self._is_looking or self._is_taking or self._several:
            return
        self._is_looking = True

        def read() -> tuple[Frame, tuple[Code, ...]] | None:
            frame = live.frame()
            return None if frame is None else (frame, codes_in_frame(frame.size, frame.pixels))

        self.session.aside(read, self._looked, self._no_camera)

    def row(self, section: str, row: str) -> None:
        """Take the code that is meant, of several."""
        number = int(row)
        if number < len(self._several):
            self._take(self._several[number])

    def press(self, button: str) -> None:
        """Look again, or go another way."""
        if button == "again":
            self._several = ()
            self._show(self._words(tr(AIM)))
            return
        source = next((s for s in self.session.devices.sources if f"source-{s.word}" == button), None)
        if source is not None:
            self._ask(source)
        else:
            self.session.go(self.route.down(button))

    def take_text(self, text: str) -> None:
        """Take what a hand scanner sent."""
        self._pass_on(text, "", "code")

    def fail(self, error: WalkappError) -> None:
        """Say why what was read cannot be used; one can go on aiming."""
        self._several, self._is_taking = (), False
        words = tr(AIM) if self._live is not None else tr(NO_CAMERA)
        self._show(replace(self._words(words), problem=str(error)))

    def _words(self, sentence: str) -> ScanState:
        return ScanState(
            title=tr("Scan"),
            subtitle=tr("A part's code, the label of its lot, or the label of a station"),
            sentence=sentence,
            has_view=self._live is not None,
            buttons=(
                *(
                    BoardButton(name=f"source-{source.word}", text=source.label)
                    for source in self.session.devices.sources
                    if source.is_there()
                ),
                BoardButton(name="scan_picture", text=tr("From a picture")),
                BoardButton(name="scan_type", text=tr("Type it")),
            ),
        )

    def _started(self) -> None:
        if not self.state.problem:
            self._show(self._words(tr(AIM)))

    def _no_camera(self, error: WalkappError) -> None:
        self._is_looking = False
        self._is_on = False
        live, self._live = self._live, None
        if live is not None:
            self.session.aside(live.close, lambda _: None, lambda _: None)
        self.eye.see(Preview())
        self._show(replace(self._words(tr(NO_CAMERA)), problem=str(error)))

    def _looked(self, seen: tuple[Frame, tuple[Code, ...]] | None) -> None:
        self._is_looking = False
        if seen is None or not self._is_on:
            return
        frame, codes = seen
        width, height = frame.size
        places = tuple(
            (left / width, top / height, right / width, bottom / height)
            for left, top, right, bottom in (code.place for code in codes)
        )
        self.eye.see(Preview(frame=frame if max(frame.size) <= MOST_PREVIEW_PX else None, places=places))
        code, several = chosen_code(codes, frame.size, self._before)
        self._before = codes
        if all((one.text, one.kind) != self._refused for one in codes):
            self._refused = None
        if several:
            self._offer(several)
        elif code is not None and (code.text, code.kind) != self._refused:
            # One that was refused stays in view for a while, and is told once.
            self._take(code)

    def _offer(self, several: tuple[Code, ...]) -> None:
        self._several = several
        rows = tuple(
            ListRow(id=str(number), title=_shown(code.text), subtitle=code.name)
            for number, code in enumerate(several)
        )
        state = self._words(tr(SEVERAL))
        self._show(
            replace(
                state,
                mark="undecided",
                sections=(Section(name="codes", rows=rows),),
                buttons=(BoardButton(name="again", text=tr("Aim again"), tone="strong"), *state.buttons),
            )
        )

    def _take(self, code: Code) -> None:
        self._refused = code.text, code.kind
        self._pass_on(code.text, code.kind, "code")

    def _pass_on(self, text: str, kind: str, read_by: str) -> None:
        here = meant_for(self.route)
        self._is_taking = True
        self.session.run_later(
            lambda: take_text(self.session, here, text, kind=kind, read_by=read_by),
            self.session.go,
            self.fail,
        )

    def _ask(self, source: PictureSource) -> None:
        """Take a picture with what the tablet has, and read the codes in it."""
        self._asked = source
        source.take(
            self.session.picture_folders[0],
            self._taken,
            lambda why: self.fail(DeviceError(why)),
        )

    def _taken(self, path: Path) -> None:
        self._asked = None
        self.session.aside(lambda: codes_in_file(path), self._found, self.fail)

    def _found(self, codes: tuple[Code, ...]) -> None:
        if len({code.text for code in codes}) > 1:
            self._offer(codes)
        elif codes:
            self._take(codes[0])
        else:
            self.fail(DeviceError(tr(NOTHING_IN_PICTURE)))


NOTHING_IN_PICTURE = msg(
    "No code was found in the picture; take it from nearer, straight on, with light from the "
    "side and the code in focus."
)


def _shown(text: str) -> str:
    """Show the text of a code in a row."""
    words = in_one_line(visible(text[: MOST_SHOWN + 1]))
    return words if len(text) <= MOST_SHOWN else f"{words[:MOST_SHOWN]}..."
