"""Two counts that belong together, parts checked and NOK among them: stepped or typed."""

from __future__ import annotations

from walkapp.language import trn


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
        return trn(
            "{count} part is NOK already, so at least {count} was checked; correct NOK first.",
            "{count} parts are NOK already, so at least {count} were checked; correct NOK first.",
            nok,
        )
    if which == "nok" and number > checked:
        return trn(
            "Only {count} part was checked, so at most {count} is NOK; type Checked first.",
            "Only {count} parts were checked, so at most {count} are NOK; type Checked first.",
            checked,
        )
    return ""
