"""The start file of a packed app: what stands for the command ``walkapp`` where there is none.

``walkapp check-the-package FOLDER`` tries whether everything was packed; see ``checking.py``.
"""

import sys
from pathlib import Path

if __name__ == "__main__":
    if sys.argv[1:2] == ["check-the-package"]:
        from checking import check

        check(Path(sys.argv[2]))
    else:
        from walkapp.cli import main

        sys.exit(main())
