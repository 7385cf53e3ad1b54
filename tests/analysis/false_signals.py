"""How often a stable process gives a signal on the charts of individual values: simulated with NumPy.

The rules are written once more here, on whole arrays. ``python -m tests.analysis.false_signals`` prints the
table that `walkapp.analysis.control.value_chance` keeps."""

from __future__ import annotations

import math

import numpy as np

D2 = 2 / math.sqrt(math.pi)
D4 = 1 + 3 * math.sqrt(math.pi / 2 - 1)


def _run_lengths(holds: np.ndarray) -> np.ndarray:
    found = np.zeros(holds.shape, int)
    current = np.zeros(holds.shape[0], int)
    for place in range(holds.shape[1]):
        current = np.where(holds[:, place], current + 1, 0)
        found[:, place] = current
    return found


def _in_window(holds: np.ndarray, window: int) -> np.ndarray:
    totals = np.cumsum(holds, axis=1)
    totals[:, window:] -= totals[:, :-window].copy()
    return totals


def signals(z: np.ndarray, high_ranges: np.ndarray) -> np.ndarray:
    """Say where a signal of any rule is complete, for rows of values in sigma from their centre line."""
    steps = np.diff(z, axis=1)
    found = np.abs(z) > 3
    for side in (1, -1):
        found |= _in_window(side * z > 2, 3) >= 2
        found |= _in_window(side * z > 1, 5) >= 4
        found |= _run_lengths(side * z > 0) >= 8
        found[:, 1:] |= _run_lengths(side * steps > 0) >= 5
    found[:, 2:] |= _run_lengths(steps[:, 1:] * steps[:, :-1] < 0) >= 12
    found |= _run_lengths(np.abs(z) <= 1) >= 15
    apart = _run_lengths(np.abs(z) > 1) >= 8
    one_sided = (_run_lengths(z > 0) >= 8) | (_run_lengths(z < 0) >= 8)
    found |= apart & ~one_sided
    found[:, 1:] |= high_ranges
    return found


def chances(baseline: int, points: tuple[int, ...], rows: int, seed: int) -> list[float]:
    """Share of charts with a signal among so many first points, limits from the first `baseline`."""
    random = np.random.default_rng(seed)
    total = np.zeros(len(points))
    chunk = min(rows, 10_000)
    for _ in range(rows // chunk):
        x = random.standard_normal((chunk, max(points)))
        ranges = np.abs(np.diff(x, axis=1))
        mean_range = ranges[:, : baseline - 1].mean(axis=1, keepdims=True)
        z = (x - x[:, :baseline].mean(axis=1, keepdims=True)) / (mean_range / D2)
        any_so_far = np.logical_or.accumulate(signals(z, ranges > D4 * mean_range), axis=1)
        total += [any_so_far[:, many - 1].sum() for many in points]
    return [float(one) for one in total / (rows // chunk * chunk)]


if __name__ == "__main__":
    grid = (8, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200)
    for held in grid:
        after = tuple(many for many in grid if many >= held)
        print(f"    {held}: ({', '.join(f'{c:.3f}' for c in chances(held, after, 200_000, held))}),")
