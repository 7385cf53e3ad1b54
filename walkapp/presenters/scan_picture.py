"""Scanning without a live view: from a picture of a known folder, or typed."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from walkapp.actions.scanning import Code, codes_in_file, pictures_to_scan
from walkapp.analysis.wording import moment_text
from walkapp.errors import InputError
from walkapp.language import msg, tr
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.form import FormField, FormPage
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.presenters.scan import NOTHING_IN_PICTURE
from walkapp.presenters.session import Session
from walkapp.presenters.taking import meant_for, take_text
from walkapp.visible import visible

SEVERAL = msg("There are several codes in the picture: {names}; take one of the code that is meant alone.")


class ScanPicturePage(BoardPage):
    """Presents the newest pictures of a folder; a tap reads the code in one. The picture is not kept.

    Parameters
    ----------
    session
        What every presenter is given.
    route
        The page.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route)
        self._folder = session.picture_folders[0]

    def choose(self, word: str) -> None:
        """Look into another of the known folders."""
        self._folder = Path(word)
        self.open()

    def row(self, section: str, row: str) -> None:
        """Read the code in a picture, and go to what it means."""
        here = meant_for(self.route)

        def read() -> Route:
            code = only_code(codes_in_file(Path(row)))
            return take_text(self.session, here, code.text, kind=code.kind)

        self.session.run_later(read, self.session.go, self.fail)

    def press(self, button: str) -> None:
        """Look into the folder once more."""
        self.open()

    def take_text(self, text: str) -> None:
        """Take what a hand scanner sent."""
        here = meant_for(self.route)
        self.session.run_later(lambda: take_text(self.session, here, text), self.session.go, self.fail)

    def _view(self) -> BoardState:
        rows = tuple(
            ListRow(id=str(one.path), title=visible(one.path.name), subtitle=moment_text(one.taken))
            for one in pictures_to_scan(self.session.place, self._folder)
        )
        folders = tuple((str(path), path.name) for path in self.session.picture_folders)
        return BoardState(
            title=tr("Scan from a picture"),
            subtitle=tr("The code is read and the picture is not kept"),
            sentence=tr("Tap the picture of the code; the newest one comes first.")
            if rows
            else tr(
                "No picture in {folder}. Take one with the camera, then look again.", folder=self._folder
            ),
            choices=folders if len(folders) > 1 else (),
            chosen=str(self._folder),
            sections=(Section(name="pictures", rows=rows),),
            buttons=(BoardButton(name="again", text=tr("Look again")),),
        )


def only_code(codes: tuple[Code, ...]) -> Code:
    """Give the one code of a picture.

    Raises
    ------
    InputError
        If there is none, or there are several.
    """
    if not codes:
        raise InputError(tr(NOTHING_IN_PICTURE))
    if len({code.text for code in codes}) > 1:
        names = ", ".join(sorted({code.name for code in codes}))
        raise InputError(tr(SEVERAL, names=names))
    return codes[0]


class ScanTypeForm(FormPage):
    """Types what stands on a part or a label."""

    title = msg("Type what stands there")
    do = msg("Use this text")
    is_in_walk = False

    def _fields(self) -> tuple[FormField, ...]:
        return (
            FormField(
                name="text",
                label=tr("Serial number, tag or lot of the part, or the text of a station's label"),
                hint=tr("Exactly as it is printed, with its capital and small letters"),
                is_required=True,
            ),
        )

    def _keep(self, values: Mapping[str, str]) -> Route:
        return take_text(self.session, meant_for(self.route), values["text"], read_by="typed")
