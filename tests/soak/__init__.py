"""Long runs that search for losses: each is ``python -m tests.soak.<name> --count N --seed S``."""
