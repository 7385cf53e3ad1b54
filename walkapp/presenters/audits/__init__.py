"""The pages of layered audits and of their findings."""
