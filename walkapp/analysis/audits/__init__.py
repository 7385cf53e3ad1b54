"""The plan of layered audits, and what the audits tell."""
