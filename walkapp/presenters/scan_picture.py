"""Scanning without a live view: from a picture of a known folder, or typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from walkapp.actions.scanning import Code, codes_in_file
from walkapp.errors import InputError, WalkappError
from walkapp.presenters.board import BoardState
from walkapp.presenters.form import FormField, FormPage
from walkapp.presenters.observe import Observed
from walkapp.presenters.photo import PictureChoice, picture_choice
from walkapp.presenters.scan import NOTHING_IN_PICTURE
from walkapp.presenters.session import Route, Session
from walkapp.presenters.taking import meant_for, take_text

SEVERAL = "There are several codes in the picture: {}; take one of the code that is meant alone."


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanPictureState(BoardState):
    """Everything the page shows.

    Parameters
    ----------
    choice
        The pictures to choose from.
    """

    choice: PictureChoice = PictureChoice()


class ScanPicturePage(Observed[ScanPictureState]):
    """Presents the newest pictures of a folder; a tap reads the code in one. The picture is not kept.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page.
    """

    screen = "scan_picture"

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(ScanPictureState(title="Scan from a picture"))
        self.session = session
        self.route = route
        self._folder = session.picture_folders[0]

    def open(self) -> None:
        """Look into the folder."""

        def look() -> ScanPictureState:
            heading = "Tap a picture to read the code in it; it is not kept"
            choice = picture_choice(self.session, self._folder, (), (), heading=heading, kept_heading="")
            return replace(self.state, choice=choice, problem="")

        self.session.run_later(look, self._show, self.fail)

    def choose_folder(self, path: str) -> None:
        """Look into another of the known folders."""
        self._folder = Path(path)
        self.open()

    def choose(self, key: str) -> None:
        """Read the code in a picture, and go to what it means."""
        here = meant_for(self.route)

        def read() -> Route:
            code = only_code(codes_in_file(Path(key)))
            return take_text(self.session, here, code.text, kind=code.kind)

        self.session.run_later(read, self.session.go, self.fail)

    def cover(self, key: str) -> None:
        """No picture is kept here, so none is covered."""

    def back(self) -> None:
        """Go back to aiming."""
        self.session.go(self.route.up())

    def fail(self, error: WalkappError) -> None:
        """Say what went wrong."""
        self._show(replace(self.state, problem=str(error)))


def only_code(codes: tuple[Code, ...]) -> Code:
    """Give the one code of a picture.

    Raises
    ------
    InputError
        If there is none, or there are several.
    """
    if not codes:
        raise InputError(NOTHING_IN_PICTURE)
    if len({code.text for code in codes}) > 1:
        names = ", ".join(sorted({code.name for code in codes}))
        raise InputError(SEVERAL.format(names))
    return codes[0]


class ScanTypeForm(FormPage):
    """Types what stands on a part or a label."""

    title = "Type what stands there"
    do = "Use this text"
    is_in_walk = False

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="text",
                label="Serial number, tag or lot of the part, or the text of a station's label",
                hint="Exactly as it is printed, with its capital and small letters",
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        return take_text(self.session, meant_for(self.route), values["text"], read_by="typed")
