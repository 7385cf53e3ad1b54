"""Printed pages as PDF, drawn by matplotlib, which is imported only when a page is drawn.

What stands on a page is decided elsewhere; here it is only laid out, so that nothing overlaps or is cut
off.
"""
