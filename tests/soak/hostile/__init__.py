"""Mutated bundles, checklists, counts and journals by the thousand: only clean refusals.

* :mod:`tests.soak.hostile.seeds` makes the good inputs;
* :mod:`tests.soak.hostile.mutants` and :mod:`tests.soak.hostile.packing` spoil them;
* :mod:`tests.soak.hostile.judge` says whether the program did what it must;
* :mod:`tests.soak.hostile.running` runs many of them in workers that are watched.
"""
