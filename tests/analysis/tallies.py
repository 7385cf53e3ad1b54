"""Groups of parts made up at random, and their exact test by counting every table."""

import math
from fractions import Fraction
from itertools import product

from hypothesis import strategies as st


def counted(tallies):
    """Give p as a fraction, from every table with the same margins."""
    marked = sum(nok for nok, _ in tallies)

    def ways(table):
        return math.prod(math.comb(n, k) for k, (_, n) in zip(table, tallies, strict=True))

    tables = [t for t in product(*(range(n + 1) for _, n in tallies)) if sum(t) == marked]
    seen = ways([nok for nok, _ in tallies])
    return Fraction(sum(w for w in map(ways, tables) if w <= seen), sum(map(ways, tables)))


def tallies_of(most_groups, most_parts, least_groups=1):
    one = st.integers(0, most_parts).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
    return st.lists(one, min_size=least_groups, max_size=most_groups)
