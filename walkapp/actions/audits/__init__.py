"""Layered audits: which are due, doing one, and what they tell."""
