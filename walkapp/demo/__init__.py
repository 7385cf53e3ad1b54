"""The demo: an invented concern, walked by two tablets and merged at the desk."""

from walkapp.demo.showing import Shown, show_demo

__all__ = ["Shown", "show_demo"]
