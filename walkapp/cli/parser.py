"""How calls are taken apart: what argparse says itself is in the language of the person too."""

from __future__ import annotations

import argparse
import sys
from typing import NoReturn

from walkapp.language import current, msg, tr
from walkapp.visible import visible

BAD_INPUT = 2

TEXTS = (
    msg("usage: "),
    msg("positional arguments"),
    msg("options"),
    msg("show this help message and exit"),
    msg("argument %(argument_name)s: %(message)s"),
    msg("not allowed with argument %s"),
    msg("one of the arguments %s is required"),
    msg("the following arguments are required: %s"),
    msg("unrecognized arguments: %s"),
    msg("ignored explicit argument %r"),
    msg("expected one argument"),
    msg("expected at most one argument"),
    msg("expected at least one argument"),
    msg("ambiguous option: %(option)s could match %(matches)s"),
    msg("unexpected option string: %s"),
    msg("invalid %(type)s value: %(value)r"),
    msg("invalid choice: %(value)r (choose from %(choices)s)"),
    msg("invalid choice: %(value)r, maybe you meant %(closest)r? (choose from %(choices)s)"),
    msg("unknown parser %(parser_name)r (choices: %(choices)s)"),
)
"""What argparse says to people, of Python 3.11 to 3.14; a text that is not here is said in English."""


def _said(text: str) -> str:
    return current().catalogue.gettext(text)


def _said_of(one: str, many: str, count: int) -> str:
    return current().catalogue.ngettext(one, many, count)


# argparse asks gettext for each of its texts, by these two names of its own.
vars(argparse).update(_=_said, ngettext=_said_of)


class OneSentenceParser(argparse.ArgumentParser):
    """Says what is wrong with a call in one sentence instead of a page of usage."""

    def error(self, message: str) -> NoReturn:
        """Say it, and end with the status for bad input."""
        sys.stderr.write(
            tr("{prog}: {visible}; see '{prog} --help'.\n", prog=self.prog, visible=visible(message))
        )
        raise SystemExit(BAD_INPUT)
