"""``python -m walkapp`` is the same as the command ``walkapp``."""

import sys

from walkapp.cli import main

if __name__ == "__main__":
    sys.exit(main())
