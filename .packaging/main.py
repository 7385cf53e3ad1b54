"""The start file of a packed app: what stands for the command ``walkapp`` where there is none."""

import sys

from walkapp.cli import main

if __name__ == "__main__":
    sys.exit(main())
