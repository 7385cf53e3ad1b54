"""How often an answer that says "95 %" is right, and what it costs; simulated walks, seeds fixed.

Run by hand::

    python -m tests.benchmarks.calibration            # every row, 2,000 walks each: about 5 minutes
    python -m tests.benchmarks.calibration --walks 200 --stations 8

Streams, defects and walkers are invented. In each walk the defect starts at a station drawn at random
and a fixed share of the parts is affected from there on. Printed per row:

- right: of the walks that named a station with at least 95 %, how many named the true one (goal: 95 %);
- parts and minutes of a guided walk: one minute between stations, 15 seconds a part; and the parts of
  one that follows the guide where walking costs nothing, with their ratio to the information bound
  (log2 S + log2 20) / capacity, the capacity being that of the channel "one part, bad or good, called
  OK or NOK" (a Z or asymmetric channel; maximum over the input, MacKay, Information Theory, Inference,
  and Learning Algorithms, chapter 9);
- walks with 5 and with 30 parts at every station: parts, how many of them named a station with at
  least 95 %, how many of those were right, and how often the plain rule was right.

The walks of a row are simulated side by side with NumPy. That this does what ``origin_posterior`` and
``advise`` do is tested in ``tests/analysis/test_calibration.py``.
"""

from __future__ import annotations

import argparse
import math
import random
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize_scalar
from scipy.stats import binom

from walkapp.analysis.guide import BATCHES, GOOD_ENOUGH
from walkapp.analysis.origin import origin_posterior
from walkapp.analysis.results import SURE, StationTally, Tally
from walkapp.analysis.shares import KNEE

SHARES = (0.05, 0.1, 0.3, 0.6, 0.95)
STATIONS = (4, 8, 16)
DETECTIONS = (0.7, 0.9)
FALSE_ALARMS = (0.0, 0.01)
MOST_PARTS = 4_000
NODES = 48


@dataclass(frozen=True)
class Truth:
    """One row: what is so, and what the computation takes for granted."""

    stations: int
    share: float
    detection: float
    false_alarm: float
    assumed_detection: float
    assumed_false_alarm: float

    @property
    def nok(self) -> float:
        """Chance that a part from the origin on is called NOK."""
        return self.false_alarm + self.share * (self.detection - self.false_alarm)


class Belief:
    """The computation for many walks at once, with one kind of check."""

    def __init__(self, stations: int, detection: float, false_alarm: float) -> None:
        self.stations = stations
        x, w = np.polynomial.legendre.leggauss(NODES)
        shares = KNEE * ((1 + KNEE) / KNEE) ** ((x + 1) / 2) - KNEE
        self.prior = w / 2
        nok = false_alarm + shares * (detection - false_alarm)
        with np.errstate(divide="ignore"):
            self.bad_logs = np.log(nok), np.log1p(-nok)
            self.good_logs = np.log(false_alarm) if false_alarm else -1e9, np.log1p(-false_alarm)
        counts = [np.arange(m + 1) for m in BATCHES]
        self.bad = np.concatenate([binom.pmf(k[None, :], k[-1], nok[:, None]) for k in counts], axis=1)
        self.good = np.concatenate([binom.pmf(k, k[-1], false_alarm) for k in counts])
        self.starts = np.cumsum([0, *(m + 1 for m in BATCHES[:-1])])

    def posterior(self, checked, nok):
        """Joint weights of origin and share, of shape (walks, stations, nodes), and those of "none"."""
        all_n, all_k = checked.sum(1, keepdims=True), nok.sum(1, keepdims=True)
        up_n, up_k = np.cumsum(checked, 1) - checked, np.cumsum(nok, 1) - nok
        down_n, down_k = all_n - up_n, all_k - up_k
        logs = (up_k * self.good_logs[0] + (up_n - up_k) * self.good_logs[1])[:, :, None]
        logs = (
            logs + down_k[:, :, None] * self.bad_logs[0] + (down_n - down_k)[:, :, None] * self.bad_logs[1]
        )
        logs = logs + np.log(self.prior)
        none = (all_k * self.good_logs[0] + (all_n - all_k) * self.good_logs[1])[:, 0]
        top = np.maximum(logs.max((1, 2)), none)
        joint, none = np.exp(logs - top[:, None, None]), np.exp(none - top)
        total = joint.sum((1, 2)) + none
        return joint / total[:, None, None], none / total

    def gains(self, joint):
        """Expected loss of uncertainty in bits, of shape (walks, stations, batches)."""
        origin = joint.sum(2)
        forecast = joint @ self.bad
        present = np.cumsum(origin, 1)[:, :, None]
        mixed = np.cumsum(forecast, 1) + (1 - present) * self.good
        with np.errstate(invalid="ignore", divide="ignore"):
            own = self._entropy(forecast / origin[:, :, None]) * origin[:, :, None]
        own = np.nan_to_num(own)
        mean = np.cumsum(own, 1) + (1 - present) * self._entropy(self.good[None, None, :])
        return np.maximum(self._entropy(mixed) - mean, 0.0)

    def _entropy(self, chances):
        with np.errstate(divide="ignore", invalid="ignore"):
            bits = np.where(chances > 0, -chances * np.log2(chances), 0.0)
        return np.add.reduceat(bits, self.starts, axis=-1)


def choose(gains, walking, seconds=15.0):
    """Station and batch (as indices) of the best rate, for each walk, as ``advise`` does it."""
    cost = walking[:, :, None] + np.array(BATCHES) * seconds / 60
    rates = gains / cost
    station = rates.max(2).argmax(1)
    mine = rates[np.arange(len(rates)), station]
    enough = mine >= GOOD_ENOUGH * mine.max(1, keepdims=True)
    batch = (enough * np.arange(1, len(BATCHES) + 1)).argmax(1)
    return station, batch, cost[np.arange(len(rates)), station, batch]


@dataclass
class Guided:
    """What guided walks came to."""

    right: float
    named: float
    parts: float
    minutes: float


def guided(truth: Truth, walks: int, seed: int, minutes_between: float) -> Guided:
    """Simulate walks that follow the guide until one answer is sure."""
    rng = np.random.default_rng(seed)
    many = truth.stations
    belief = Belief(many, truth.assumed_detection, truth.assumed_false_alarm)
    origin = rng.integers(0, many, walks)
    checked, nok = np.zeros((walks, many)), np.zeros((walks, many))
    parts, minutes = np.zeros(walks), np.zeros(walks)
    named = np.full(walks, -1)
    here = np.full(walks, -1)
    going = np.arange(walks)
    # Before the first stop every station is the mean walk away, as in ``walking_minutes``.
    mean_walk = minutes_between * (many + 1) / 3
    while len(going):
        joint, none = belief.posterior(checked[going], nok[going])
        by_station = joint.sum(2)
        best = by_station.argmax(1)
        sure = by_station.max(1) >= SURE
        over = sure | (none >= SURE) | (parts[going] >= MOST_PARTS)
        named[going[sure]] = best[sure]
        going, joint = going[~over], joint[~over]
        if not len(going):
            break
        places = np.arange(many) * minutes_between
        at = here[going]
        walking = np.where(at[:, None] < 0, mean_walk, np.abs(places - places[np.maximum(at, 0)][:, None]))
        station, batch, cost = choose(belief.gains(joint), walking)
        m = np.array(BATCHES)[batch]
        chance = np.where(station >= origin[going], truth.nok, truth.false_alarm)
        checked[going, station] += m
        nok[going, station] += rng.binomial(m, chance)
        parts[going] += m
        minutes[going] += cost
        here[going] = station
    said = named >= 0
    right = float((named == origin)[said].mean()) if said.any() else math.nan
    return Guided(right, float(said.mean()), float(parts.mean()), float(minutes.mean()))


@dataclass
class Fixed:
    """What walks with the same number of parts everywhere came to."""

    right: float
    named: float
    plain_right: float


def fixed(truth: Truth, walks: int, seed: int, parts: int) -> Fixed:
    """Simulate walks with `parts` parts at every station."""
    rng = np.random.default_rng(seed)
    many = truth.stations
    origin = rng.integers(0, many, walks)
    chance = np.where(np.arange(many)[None, :] >= origin[:, None], truth.nok, truth.false_alarm)
    nok = rng.binomial(parts, chance).astype(float)
    belief = Belief(many, truth.assumed_detection, truth.assumed_false_alarm)
    joint, _ = belief.posterior(np.full((walks, many), float(parts)), nok)
    by_station = joint.sum(2)
    sure = by_station.max(1) >= SURE
    right = float((by_station.argmax(1) == origin)[sure].mean()) if sure.any() else math.nan
    seen = nok > 0
    plain = np.where(seen.any(1), seen.argmax(1), -1)
    return Fixed(right, float(sure.mean()), float((plain == origin).mean()))


def with_sorting(share: float, left: float, parts: int, walks: int, says_so: bool) -> tuple[float, float]:
    """Walk a stream in which parts are sorted out at the fifth of six stations.

    From there on only `left` of the affected parts are still there. Every walk checks `parts` parts
    everywhere; `says_so` tells whether the checklist says that parts are sorted out. Gives the share of
    walks that name a station with at least 95 %, and how many of those are right. Program code, seed 7.
    """
    rng = random.Random(7)
    many, place = 6, 4
    named = right = 0
    for _ in range(walks):
        origin = rng.randrange(many)
        stations = []
        for i in range(many):
            here = 0.0 if i < origin else share * (left if origin < place <= i else 1.0)
            chance = 0.005 + here * 0.895
            nok = sum(rng.random() < chance for _ in range(parts))
            tally = Tally(checked=parts, nok=nok, detection=0.9, false_alarm=0.005)
            sorts = says_so and i == place
            stations.append(
                StationTally(order=i + 1, name=f"Station {i + 1}", tallies=(tally,), sorts=sorts)
            )
        chances = origin_posterior(stations).origin
        best = max(range(many), key=chances.__getitem__)
        named += chances[best] >= SURE
        right += chances[best] >= SURE and best == origin
    return named / walks, right / named if named else math.nan


def capacity(nok_if_bad: float, nok_if_good: float) -> float:
    """Most bits that one part can tell about whether it is from after the origin."""

    def entropy(p: float) -> float:
        return 0.0 if p <= 0 or p >= 1 else -p * math.log2(p) - (1 - p) * math.log2(1 - p)

    def lost(w: float) -> float:
        mixed = w * nok_if_bad + (1 - w) * nok_if_good
        return w * entropy(nok_if_bad) + (1 - w) * entropy(nok_if_good) - entropy(mixed)

    return -float(minimize_scalar(lost, bounds=(0, 1), method="bounded", options={"xatol": 1e-12}).fun)


def row(truth: Truth, walks: int, seed: int) -> tuple[str, float, float]:
    """Simulate one row; give its text, its share right and its ratio to the bound."""
    walk = guided(truth, walks, seed, 1.0)
    free = guided(truth, walks, seed + 1, 0.0)
    few, many = (fixed(truth, walks, seed + 2, parts) for parts in (5, 30))
    bound = (math.log2(truth.stations) + math.log2(20)) / capacity(truth.nok, truth.false_alarm)
    right = min(x.right for x in (walk, free))
    text = (
        f"{truth.stations:3d} {truth.share:5.2f} {truth.detection:4.1f} {truth.false_alarm:5.2f} |"
        f" {100 * walk.right:5.1f} {100 * walk.named:5.1f} {walk.parts:6.0f} {walk.minutes:5.0f} |"
        f" {100 * free.right:5.1f} {free.parts:6.0f} {free.parts / bound:5.2f} {walk.parts / bound:5.2f} |"
    )
    for parts, one in ((5, few), (30, many)):
        text += (
            f" {parts * truth.stations:4d} {100 * one.named:5.1f} {100 * one.right:5.1f}"
            f" {100 * one.plain_right:5.1f} |"
        )
    return text, right, free.parts / bound


HEADER = (
    "                     | guided, 1 min a station | walking free: ratios    | 5 parts everywhere    "
    "| 30 parts everywhere\n"
    "  S share  d     f   | right named  parts  min | right  parts  free walk | parts named right plain "
    "| parts named right plain"
)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description="How often 'at least 95 %' is right, and what it costs.")
    parser.add_argument("--walks", type=int, default=2_000)
    parser.add_argument("--stations", type=int, nargs="*", default=STATIONS)
    parser.add_argument("--seed", type=int, default=20260303)
    call = parser.parse_args()
    print("parts sorted out at station 5 of 6, 30 parts everywhere: named / right, %", flush=True)
    for share in (0.1, 0.3, 0.6):
        for left in (0.0, 0.3, 1.0):
            told = [
                " / ".join(f"{100 * x:5.1f}" for x in with_sorting(share, left, 30, call.walks, says_so))
                for says_so in (False, True)
            ]
            print(
                f"{share:4.2f} affected, {left:3.1f} of them left: checklist silent {told[0]}, "
                f"says so {told[1]}",
                flush=True,
            )
    print(flush=True)
    for title, assumed in (
        ("right assumptions", {}),
        ("detection assumed 0.9, but it is 0.7 (0.7 assumed, but it is 0.9)", {0.7: 0.9, 0.9: 0.7}),
    ):
        print(f"{title}\n{HEADER}", flush=True)
        worst, widest = 1.0, 0.0
        for stations in call.stations:
            for share in SHARES:
                for detection in DETECTIONS:
                    for false_alarm in FALSE_ALARMS:
                        truth = Truth(
                            stations,
                            share,
                            detection,
                            false_alarm,
                            assumed.get(detection, detection),
                            false_alarm,
                        )
                        text, right, ratio = row(truth, call.walks, call.seed)
                        print(text, flush=True)
                        worst, widest = min(worst, right), max(widest, ratio)
        print(
            f"least share right {100 * worst:.1f} % (goal 95), largest ratio to the bound, walking free, "
            f"{widest:.2f} (goal 1.5)\n",
            flush=True,
        )


if __name__ == "__main__":
    main()
