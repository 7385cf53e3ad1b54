"""Presenters of the desk: merging, reviewing, figures, the sheet, the page to mail, indicators and ppm."""
