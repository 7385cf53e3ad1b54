"""What Python 3.14 no longer has is not used: tablets run it, and there is none where the tests run."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]

GONE = {
    # "What's New In Python" 3.12, 3.13 (PEP 594) and 3.14, under "Removed"; from memory.
    "asynchat", "asyncore", "distutils", "imp", "smtpd",
    "aifc", "audioop", "cgi", "cgitb", "chunk", "crypt", "imghdr", "lib2to3", "mailcap", "msilib", "nis",
    "nntplib", "ossaudiodev", "pipes", "sndhdr", "spwd", "sunau", "telnetlib", "uu", "xdrlib",
}  # fmt: skip
GONE_NAMES = {
    ("pkgutil", "find_loader"), ("pkgutil", "get_loader"), ("ast", "Num"), ("ast", "Str"), ("ast", "Bytes"),
    ("sqlite3", "version"), ("sqlite3", "version_info"), ("locale", "resetlocale"), ("typing", "io"),
}  # fmt: skip

FILES = [
    path.relative_to(REPOSITORY)
    for folder in ("walkapp", ".packaging")
    for path in sorted((REPOSITORY / folder).rglob("*.py"))
]


def old_things(tree: ast.AST) -> list[str]:
    """Name what a tree uses that is gone, or that 3.14 warns of."""
    found = []
    for node in ast.walk(tree):
        match node:
            case ast.Import(names=names):
                found += [name.name for name in names if name.name.partition(".")[0] in GONE]
            case ast.ImportFrom(module=str(module), level=0, names=names):
                found += [module] if module.partition(".")[0] in GONE else []
                found += [name.name for name in names if (module, name.name) in GONE_NAMES]
            case ast.Attribute(value=ast.Name(id=owner), attr=name) if (owner, name) in GONE_NAMES:
                found.append(f"{owner}.{name}")
            case ast.Try(finalbody=last):
                # PEP 765: leaving a function or a loop from there hides an error; 3.14 warns.
                found += ["return in finally" for one in last if isinstance(one, ast.Return)]
    return found


def test_no_module_uses_what_newer_pythons_have_no_more():
    used = {}
    for path in FILES:
        tree = ast.parse((REPOSITORY / path).read_text(encoding="utf-8"), feature_version=(3, 11))
        if found := old_things(tree):
            used[str(path)] = found

    assert len(FILES) > 400
    assert used == {}


@pytest.mark.parametrize(
    "code",
    ["import imp", "from distutils.core import setup", "import pkgutil\npkgutil.find_loader('x')",
     "def f():\n    try:\n        pass\n    finally:\n        return 1"],
)  # fmt: skip
def test_what_is_gone_is_found(code):
    assert old_things(ast.parse(code))
