"""This tablet: what is set on it, what it is, and where its records lie."""

from __future__ import annotations

from dataclasses import replace

from walkapp import __version__
from walkapp.actions.keys import own_key, own_key_text, signer_of
from walkapp.language import msg, tr, tr_choices
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.home import PREPARING
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session
from walkapp.presenters.settings import SETTINGS, Setting

UNKNOWN_DEVICE = msg("not known, since store.json is damaged ('walkapp check' says more)")
NO_KEY = msg("Bundles are not signed: this tablet has no key, and 'walkapp keys --make' makes one.")


PRACTISE = "practise"


def _practise_button() -> BoardButton:
    return BoardButton(name=PRACTISE, text=tr("Practise on an invented walk"))


class TabletPage(BoardPage):
    """Presents everything in ``SETTINGS``, each one tap away, and what this tablet is.

    What takes effect when something is set says so itself: ``Session.follow``.
    """

    def __init__(self, session: Session, route: Route) -> None:
        super().__init__(session, route)
        self._set_last: tuple[Setting, str] | None = None

    def pick(self, section: str, word: str) -> None:
        """Keep what was chosen, then show it and let it take effect."""
        setting = next(one for one in SETTINGS if one.word == section)

        def run() -> BoardState:
            self.session.settings.set_to(setting, word)
            self._set_last = setting, word
            return self._look()

        def done(state: BoardState) -> None:
            self._show(state)
            self.session.settings.tell_set(setting, word)

        self.session.run_later(run, done, self.fail)

    def press(self, button: str) -> None:
        """Open practice."""
        if button == PRACTISE and self.session.practise is not None:
            self._show(replace(self.state, saved=tr(PREPARING), problem=""))
            self.session.practise()

    def _view(self) -> BoardState:
        return BoardState(
            title=tr("This tablet"),
            subtitle=tr("A tap on a choice is kept at once, for this tablet alone."),
            saved=self._saved(),
            sections=(
                *(self._section(setting) for setting in SETTINGS),
                Section(name="is", title=tr("What it is"), words="\n".join(self._facts())),
            ),
            buttons=() if self.session.practise is None else (_practise_button(),),
        )

    def _saved(self) -> str:
        """Say what was set last; it stays when the page is built anew in what was set."""
        if self._set_last is None:
            return ""
        setting, word = self._set_last
        return tr(
            "On disk: {setting}: {chosen}",
            setting=tr(setting.label),
            chosen=tr(dict(setting.options)[word]),
        )

    def _section(self, setting: Setting) -> Section:
        return Section(
            name=setting.word,
            title=tr(setting.label),
            words=tr(setting.says),
            options=tr_choices(setting.options),
            chosen=self.session.settings.word(setting),
        )

    def _facts(self) -> tuple[str, ...]:
        store = self.session.place.store
        return (
            tr("Name of this tablet in the records: {what}", what=store.device or tr(UNKNOWN_DEVICE)),
            tr("Version of walkapp: {version}", version=__version__),
            tr("Folder of the records and pictures: {folder}", folder=store.folder),
            self._signing(),
        )

    def _signing(self) -> str:
        store = self.session.place.store
        signer, problem = signer_of(store)
        if problem:
            return tr("Bundles of this tablet: {problem}", problem=problem)
        if signer is None:
            return tr(NO_KEY)
        own, _ = own_key(store)
        return tr("Bundles are signed. {own_key}", own_key=own_key_text(own))
