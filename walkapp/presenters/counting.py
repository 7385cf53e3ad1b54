"""Two counts that belong together, parts checked and NOK among them: stepped or typed."""

from __future__ import annotations

from walkapp.language import tr


def stepped(checked: int, nok: int, which: str, by: int) -> tuple[int, int]:
    """Add or take away parts of ``checked`` or ``nok``.

    One more NOK part than were checked means one more checked part, and there are never fewer checked
    than NOK.

    Examples
    --------
    >>> stepped(3, 3, "nok", 1), stepped(3, 3, "checked", -1), stepped(0, 0, "nok", -1)
    ((4, 4), (3, 3), (0, 0))
    """
    if which == "nok":
        nok = max(nok + by, 0)
        return max(checked, nok), nok
    return max(checked + by, nok), nok


def typed(checked: int, nok: int, which: str, number: int) -> tuple[int, int]:
    """Put a typed number in place of ``checked`` or ``nok``."""
    return (number, nok) if which == "checked" else (checked, number)


def typing_problem(checked: int, nok: int, which: str, number: int) -> str:
    """Say why a typed number cannot be; empty when it can."""
    if which == "checked" and number < nok:
        return tr(
            "{nok} parts are NOK already, so at least {nok} were checked; correct NOK first.", nok=nok
        )
    if which == "nok" and number > checked:
        return tr(
            "Only {checked} parts were checked, so at most {checked} are NOK; type Checked first.",
            checked=checked,
        )
    return ""
