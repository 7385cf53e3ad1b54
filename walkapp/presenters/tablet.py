"""This tablet: what is set on it, what it is, and where its records lie."""

from __future__ import annotations

from walkapp import __version__
from walkapp.actions.keys import own_key, own_key_text, signer_of
from walkapp.presenters.board import BoardPage, BoardState, Section
from walkapp.presenters.rows import ListRow
from walkapp.presenters.session import Route, Session
from walkapp.presenters.settings import SETTINGS, Setting

UNKNOWN_DEVICE = "Not known, since store.json is damaged: 'walkapp check' says more."


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
            self.session.set_setting(setting, word)
            self._set_last = setting, word
            return self._look()

        def done(state: BoardState) -> None:
            self._show(state)
            self.session.tell_set(setting, word)

        self.session.run_later(run, done, self.fail)

    def _view(self) -> BoardState:
        return BoardState(
            title="This tablet",
            subtitle="A tap on a choice is kept at once, for this tablet alone.",
            saved=self._saved(),
            sections=(
                *(self._section(setting) for setting in SETTINGS),
                Section(name="is", title="What it is", rows=self._facts()),
            ),
        )

    def _saved(self) -> str:
        """Say what was set last; it stays when the page is built anew in what was set."""
        if self._set_last is None:
            return ""
        setting, word = self._set_last
        return f"On disk: {setting.label}: {dict(setting.options)[word]}"

    def _section(self, setting: Setting) -> Section:
        return Section(
            name=setting.word,
            title=setting.label,
            words=setting.says,
            options=setting.options,
            chosen=self.session.setting(setting),
        )

    def _facts(self) -> tuple[ListRow, ...]:
        store = self.session.place.store
        own, _ = own_key(store)
        signer, problem = signer_of(store)
        return (
            _fact("Name of this tablet in the records", store.device or UNKNOWN_DEVICE),
            _fact("Version of walkapp", __version__),
            _fact("Folder of the records and pictures", str(store.folder)),
            _fact(
                "Bundles are signed" if signer is not None else "Bundles are not signed",
                problem
                or own_key_text(own)
                or "This tablet has no key: 'walkapp keys --make' on its records makes one.",
            ),
        )


def _fact(title: str, told: str) -> ListRow:
    return ListRow(id="", title=title, subtitle=told)
