"""A page for a browser that is sent by mail: one file that needs no network and holds no program.

It is told from what :mod:`walkapp.paper.sheet_content` and figures hold; nothing here computes.
"""
