"""The sheet of a concern: what it says, and writing it."""
