"""How likely a sample is to let a delivery pass.

A delivery of so many plates, some of them bad, is judged by a sample taken without putting back; it
passes when no more than so many of the sample are bad. The chance of that is a sum of
hypergeometric terms, counted here in whole numbers, so that it is exact.
"""

from fractions import Fraction
from math import comb, lgamma
from typing import Final

import numpy as np

from combwright.errors import CombwrightError

Share = float | Fraction

#: What the quick sum may be off by, with much to spare; nearer than this the exact one decides.
_DOUBT: Final = 1e-8


class BadPlan(CombwrightError):
    """A sampling plan, or a question about one, that cannot be."""


def chance_of_acceptance(lot: int, sample: int, accept: int, bad: int) -> float:
    """Return the chance that a delivery passes, exact to the last digit of a float.

    Parameters
    ----------
    lot : int
        Plates in the delivery.
    sample : int
        Plates measured, taken at random without putting back.
    accept : int
        It passes with so many bad plates in the sample, or fewer.
    bad : int
        Bad plates in the delivery.

    Raises
    ------
    BadPlan
        If the sample, or the bad plates, are more than the delivery, or a number is below 0.
    """
    _check(lot, sample, accept, bad)
    return _ways(lot, sample, accept, bad) / comb(lot, sample)


def _ways(lot: int, sample: int, accept: int, bad: int) -> int:
    """Count the samples that pass, each term from the one before it."""
    least, most = max(0, sample - (lot - bad)), min(accept, bad, sample)
    if most < least:
        return 0
    ways = term = comb(bad, least) * comb(lot - bad, sample - least)
    for found in range(least, most):
        up = (bad - found) * (sample - found)
        term = term * up // ((found + 1) * (lot - bad - sample + found + 1))
        ways += term
    return ways


def chance_from_process(sample: int, accept: int, share: Share) -> float:
    """Return the chance that a sample passes when each plate is bad with the same chance.

    This is the limit for a delivery that is large beside its sample: a binomial sum.

    Raises
    ------
    BadPlan
        If a number is below 0, or the share is not between 0 and 1.
    """
    if sample < 0 or accept < 0 or not 0 <= share <= 1:
        raise BadPlan(
            f"A sample of {sample} that passes with {accept} bad plates, of a share of "
            f"{float(share):g}, cannot be; numbers are 0 or more, a share is from 0 to 1."
        )
    p = exactly(share)
    terms = (
        comb(sample, found) * p**found * (1 - p) ** (sample - found)
        for found in range(min(accept, sample) + 1)
    )
    return float(sum(terms, Fraction(0)))


def exactly(share: Share) -> Fraction:
    """Return a share as the fraction that was written: 0.07 is 7 in 100.

    Raises
    ------
    BadPlan
        If it is no number.
    """
    try:
        return share if isinstance(share, Fraction) else Fraction(str(share))
    except ValueError as error:
        raise BadPlan(f"A share of {share} is no number; give one from 0 to 1.") from error


def at_most(lot: int, sample: int, accept: int, bad: int, risk: Fraction) -> bool:
    """Say whether the chance of passing is no more than a risk.

    A quick sum of floats settles nearly all cases; one that is close is settled exactly.
    """
    quick = quick_chance(lot, sample, accept, bad)
    if abs(quick - float(risk)) > _DOUBT:
        return quick < risk
    ways = _ways(lot, sample, accept, bad)
    return ways * risk.denominator <= risk.numerator * comb(lot, sample)


def at_least(lot: int, sample: int, accept: int, bad: int, chance: Fraction) -> bool:
    """Say whether the chance of passing is no less than a chance."""
    quick = quick_chance(lot, sample, accept, bad)
    if abs(quick - float(chance)) > _DOUBT:
        return quick > chance
    ways = _ways(lot, sample, accept, bad)
    return ways * chance.denominator >= chance.numerator * comb(lot, sample)


def quick_chance(lot: int, sample: int, accept: int, bad: int) -> float:
    """Return the chance of passing as a sum of floats, right to nine digits; nothing is checked.

    The first term comes by logarithms, each next by its ratio. Terms too small for a float are
    carried as logarithms, so none of them is lost on the way up.
    """
    least, most = max(0, sample - (lot - bad)), min(accept, bad, sample)
    if most < least:
        return 0.0
    if most == min(bad, sample):
        return 1.0
    first = _log_comb(bad, least) + _log_comb(lot - bad, sample - least) - _log_comb(lot, sample)
    found = np.arange(least, most, dtype=np.float64)
    up = np.log(bad - found) + np.log(sample - found)
    down = np.log(found + 1) + np.log(lot - bad - sample + found + 1)
    logs = first + np.concatenate([[0.0], np.cumsum(up - down)])
    return min(float(np.exp(logs).sum()), 1.0)


def _log_comb(total: int, taken: int) -> float:
    return lgamma(total + 1) - lgamma(taken + 1) - lgamma(total - taken + 1)


def _check(lot: int, sample: int, accept: int, bad: int) -> None:
    if not 0 <= sample <= lot:
        raise BadPlan(f"A sample of {sample} plates cannot be taken from {lot}; take 0 to {lot}.")
    if not 0 <= bad <= lot:
        raise BadPlan(f"Of {lot} plates {bad} cannot be bad; give 0 to {lot}.")
    if accept < 0:
        raise BadPlan(f"Accepting with {accept} bad plates cannot be; give 0 or more.")
