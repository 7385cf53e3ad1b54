"""``python -m tests.languages``: bring the catalogues up to date with the program.

New texts come in empty, those that are gone go, and ``xx.mo`` is made of ``xx.po``. Prints how
many are to be translated.
"""

from __future__ import annotations

import argparse

from tests.languages.catalogues import CODES, as_bytes, compiled, path_of, untranslated, updated


def main() -> None:
    """Update every catalogue."""
    argparse.ArgumentParser(description=__doc__.split("\n\n")[0]).parse_args()
    for code in CODES:
        catalogue = updated(code)
        path_of(code).write_bytes(as_bytes(catalogue))
        path_of(code).with_suffix(".mo").write_bytes(compiled(catalogue))
        print(f"{code}: {len(catalogue)} texts, {len(untranslated(catalogue))} to be translated")


if __name__ == "__main__":
    main()
