"""What argparse says itself is known to the catalogues."""

from __future__ import annotations

import argparse
import ast
import inspect
import re

import pytest

from tests.languages.catalogues import CODES, read
from walkapp.cli.parser import TEXTS

OF_PROGRAMMERS = re.compile(
    r"not defined|conflicting|invalid option string|dest=|invalid conflict|mutually exclusive|cannot |"
    r"is not callable|'required' is|can't open|argument \"-\"|: error: "
)
"""Texts about mistakes of whoever builds a parser, and of what no call of ours uses."""


def said_by_argparse() -> set[str]:
    """Give the texts that the argparse of this Python hands to gettext."""
    calls = ast.walk(ast.parse(inspect.getsource(argparse)))
    return {
        node.args[0].value
        for node in calls
        if isinstance(node, ast.Call)
        and getattr(node.func, "id", "") == "_"
        and isinstance(node.args[0], ast.Constant)
    }


def test_every_text_that_argparse_says_to_people_is_known():
    said = {text for text in said_by_argparse() if not OF_PROGRAMMERS.search(text)}

    assert len(said) > 10
    assert said - set(TEXTS) == set()


@pytest.mark.parametrize("code", CODES)
def test_what_argparse_puts_in_stays_as_it_is(code):
    def put_in(text: str) -> list[str]:
        return sorted(re.findall(r"%(?:\(\w+\))?[rs]", text))

    catalogue = read(code)
    assert {text: put_in(catalogue[text].string) for text in TEXTS} == {t: put_in(t) for t in TEXTS}
