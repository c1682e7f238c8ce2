"""The chance of passing, counted in fractions term by term, apart from the shop's own sums."""

from fractions import Fraction
from math import comb


def exact_chance(lot, sample, accept, bad):
    ways = sum(
        comb(bad, found) * comb(lot - bad, sample - found)
        for found in range(min(accept, sample) + 1)
    )
    return Fraction(ways, comb(lot, sample))
