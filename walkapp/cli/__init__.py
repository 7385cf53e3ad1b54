"""The command ``walkapp``: take the call apart, do one action, print, give the exit status.

Exit status 0 is success, 1 a negative answer (nothing found), 2 bad input. Errors go to standard
error as one plain sentence. Kivy is imported only where a window is opened.
"""

from walkapp.cli.commands import main

__all__ = ["main"]
