"""A text that is kept under a name, ``NAME = msg(...)``, and shown without being said.

Such a text is English wherever it stands; a person reads it through ``tr``. Comparing with it says nothing.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from tests.languages.extraction import PROGRAM

SAYING = {"tr", "tr_each"}


def unsaid(source: str) -> list[tuple[int, str]]:
    """Give line and name of each kept text that a module uses without saying it.

    Parameters
    ----------
    source
        The module's source; texts that it imports are looked up in the program.
    """
    tree = ast.parse(source)
    texts = set(_texts_of(tree))
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("walkapp."):
            texts |= {one.asname or one.name for one in node.names if one.name in _kept_in(node.module)}
    if not texts:
        return []
    above = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    return [
        (node.lineno, node.id)
        for node in ast.walk(tree)
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in texts
        if not _is_said(node, above)
    ]


@cache
def _kept_in(module: str) -> frozenset[str]:
    path = PROGRAM.parent.joinpath(*module.split(".")).with_suffix(".py")
    return frozenset(_texts_of(ast.parse(path.read_text()))) if path.exists() else frozenset()


def _texts_of(tree: ast.Module) -> Iterator[str]:
    for node in tree.body:
        if isinstance(node, ast.Assign) and _is_marked(node.value):
            yield from (target.id for target in node.targets if isinstance(target, ast.Name))


def _is_marked(value: ast.expr) -> bool:
    return isinstance(value, ast.Call) and getattr(value.func, "id", "") == "msg"


def _is_said(node: ast.AST, above: dict[ast.AST, ast.AST]) -> bool:
    at = node
    while not isinstance(at, ast.stmt):
        at, before = above[at], at
        if isinstance(at, ast.Call) and getattr(at.func, "id", "") in SAYING:
            return before in at.args  # what is put into a text with {name} stays as it is
        if isinstance(at, ast.Compare) or (isinstance(at, ast.Dict) and before in at.keys):
            return True
    # In a table at the top of a module or class it is still to be said.
    return isinstance(at, ast.Assign | ast.AnnAssign) and isinstance(above[at], ast.Module | ast.ClassDef)


def modules(*packages: str) -> list[Path]:
    """Give the files of packages of the program."""
    return [path for package in packages for path in sorted((PROGRAM / package).rglob("*.py"))]
