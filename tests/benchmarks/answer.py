"""Time of the posterior, of the guide and of the whole answer at 20 stations.

Run with ``python -m tests.benchmarks.answer``. The peer of the posterior is SciPy's adaptive quadrature
of the same integrals (one for each station), in the same run; the guide has no peer, its time is also
given as a multiple of the posterior's. Goals: posterior at most 5 ms, guide at most 50 ms.
"""

from __future__ import annotations

import math
import statistics
import time
from collections.abc import Callable
from dataclasses import replace

from scipy import integrate

from walkapp.analysis.guide import advise
from walkapp.analysis.locate import locate
from walkapp.analysis.origin import origin_posterior
from walkapp.analysis.results import StationTally, Tally
from walkapp.analysis.shares import KNEE

RUNS = 30
STREAMS = {
    "30 parts at each": [(30, 0)] * 8 + [(30, 9)] * 12,
    "5 parts, six skipped": [(5, 0)] * 8 + [(0, 0)] * 6 + [(5, 2)] * 6,
}


def stream(counts: list[tuple[int, int]], sorting: tuple[int, ...]) -> tuple[StationTally, ...]:
    """Make a stream; parts can be sorted out at some stations."""
    return tuple(
        StationTally(
            order=i,
            name=f"Station {i}",
            tallies=(Tally(checked=n, nok=k, detection=0.9, false_alarm=0.005),) if n else (),
            sorts=i in sorting,
        )
        for i, (n, k) in enumerate(counts, start=1)
    )


def by_scipy(counts: list[tuple[int, int]]) -> list[float]:
    """Log of the mean likelihood for each origin, by adaptive quadrature over the scale of the prior."""
    low, high = math.log(KNEE), math.log(1 + KNEE)
    found = []
    for j in range(len(counts)):
        n, k = (sum(x) for x in zip(*counts[j:], strict=True))

        def value(u: float, n: int = n, k: int = k) -> float:
            q = 0.005 + (math.exp(u) - KNEE) * 0.895
            return math.exp(k * math.log(q) + (n - k) * math.log1p(-q))

        found.append(integrate.quad(value, low, high)[0] / (high - low))
    return found


def median_ms(work: Callable[[], object]) -> float:
    """Median time of one call, in milliseconds."""
    times = []
    for _ in range(RUNS):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return 1000 * statistics.median(times)


def main() -> None:
    """Measure and print."""
    for name, counts in STREAMS.items():
        peer = median_ms(lambda counts=counts: by_scipy(counts))
        for sorting in ((), (10,), (6, 14)):
            stations = stream(counts, sorting)
            unsure = stream([(n, min(k, 1)) for n, k in counts], sorting)
            undecided = origin_posterior(unsure)
            own = median_ms(lambda s=stations: origin_posterior(s))
            guide = median_ms(lambda s=unsure, p=undecided: advise(s, p, [None] * len(s), 3))
            with_nok = replace_last(unsure)
            tap = median_ms(lambda s=with_nok: locate(s, here=3, thorough=False))
            whole = median_ms(lambda s=with_nok: locate(s, here=3))
            print(
                f"{name}, sorting at {len(sorting)}: posterior {own:5.1f} ms (SciPy's quadrature "
                f"{peer:4.1f} ms, ratio {own / peer:5.2f}), guide {guide:5.1f} ms ({guide / own:4.1f} x), "
                f"answer after a tap {tap:5.1f} ms, with sensitivity {whole:5.1f} ms",
                flush=True,
            )


def replace_last(stations: tuple[StationTally, ...]) -> tuple[StationTally, ...]:
    """The same stream with a NOK at its end, so that a station is named."""
    tally = Tally(checked=10, nok=4, detection=0.9, false_alarm=0.005)
    return (*stations[:-1], replace(stations[-1], tallies=(tally,)))


if __name__ == "__main__":
    main()
