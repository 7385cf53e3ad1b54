"""``python -m tests.benchmarks.factorial``: how long a trial takes to be worked out, against SciPy.

Prints for several sizes the time of all effects of a trial with counted parts, and of SciPy's exact
permutation test of one effect of the smallest, which goes through every split one by one.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from fractions import Fraction

import numpy as np
from scipy import stats as scipy_stats

from walkapp.analysis.factorial import RunResult, TrialResult, work_out
from walkapp.analysis.factorial_plan import Design

SIZES = ((2, 3), (3, 2), (4, 2), (5, 1), (5, 4), (5, 12))


def timed(work: Callable[[], object]) -> float:
    """Give the seconds that some work takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def trial(
    factors: int, replicates: int, chance: random.Random
) -> tuple[Callable[[], TrialResult], list[float]]:
    """Make a trial in which nothing makes a difference; give the work and the shares of its runs."""
    design = Design(factors, replicates=replicates)
    results = []
    for run in design.order("benchmark"):
        nok = chance.randint(0, 20)
        results.append(RunResult(run=run, value=Fraction(nok, 20), tally=(nok, 20)))
    return lambda: work_out(design, results, "benchmark"), [float(one.value) for one in results]


def main() -> None:
    """Print the table."""
    chance = random.Random(1)
    for factors, replicates in SIZES:
        work, shares = trial(factors, replicates, chance)
        ours = timed(work)
        said = f"{factors} factors, {len(shares)} runs: {1000 * ours:.1f} ms for all effects"
        if len(shares) <= 16:
            half = len(shares) // 2
            both = (np.array(shares[:half]), np.array(shares[half:]))

            def difference(a: np.ndarray, b: np.ndarray, axis: int) -> np.ndarray:
                return np.abs(np.mean(a, axis=axis) - np.mean(b, axis=axis))

            def peer(both: tuple[np.ndarray, np.ndarray] = both) -> object:
                return scipy_stats.permutation_test(
                    both, difference, n_resamples=np.inf, vectorized=True, alternative="greater"
                )

            theirs = timed(peer)
            said += f"; SciPy, one effect: {1000 * theirs:.1f} ms ({theirs / ours:.1f} times as long)"
        print(said)


if __name__ == "__main__":
    main()
