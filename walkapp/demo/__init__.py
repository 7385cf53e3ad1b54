"""The demo: an invented concern, walked by two tablets and merged at the desk."""
