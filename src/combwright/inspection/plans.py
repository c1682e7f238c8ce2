"""Sampling plans: how many plates to measure, and with how many bad ones to accept.

A single plan by attributes, after the principle of the standards for such sampling [iso-2859-1]:
measure n plates, accept the delivery with at most c bad ones among them. Whoever delivers good
plates wants them accepted, whoever receives bad ones wants them refused; the plan keeps both risks.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import accumulate
from math import ceil, floor
from random import Random
from typing import Final

from combwright.inspection.chances import (
    BadPlan,
    Share,
    at_least,
    at_most,
    chance_of_acceptance,
    exactly,
    quick_chance,
)

PRODUCER_RISK: Final = 0.05
CONSUMER_RISK: Final = 0.10
#: A plan that measures more plates than this is not looked for.
MOST: Final = 5_000


@dataclass(frozen=True, slots=True)
class Plan:
    """Measure `sample` of `lot` plates, and accept with at most `accept` bad ones."""

    lot: int
    sample: int
    accept: int

    def __post_init__(self) -> None:
        """Check that such a sample can be taken."""
        if not 1 <= self.sample <= self.lot:
            raise BadPlan(
                f"A sample of {self.sample} plates cannot be taken from {self.lot}; "
                f"take 1 to {self.lot}."
            )
        if self.accept < 0:
            raise BadPlan(f"Accepting with {self.accept} bad plates cannot be; give 0 or more.")

    def chance(self, bad: int) -> float:
        """Return the chance that a delivery with so many bad plates is accepted."""
        return chance_of_acceptance(self.lot, self.sample, self.accept, bad)


@dataclass(frozen=True, slots=True)
class Point:
    """A point of a plan's curve: bad plates in the delivery, and the chance that it is accepted."""

    bad: int
    share: float
    chance: float


class Verdict(StrEnum):
    """What a sample says so far."""

    ACCEPT = "accept"
    HOLD = "hold"
    GO_ON = "go on"


def plan_for(
    lot: int,
    good_share: Share,
    bad_share: Share,
    *,
    producer_risk: Share = PRODUCER_RISK,
    consumer_risk: Share = CONSUMER_RISK,
    most: int = MOST,
) -> Plan:
    """Return the plan with the smallest sample that keeps both risks, exactly.

    Parameters
    ----------
    lot : int
        Plates in the delivery.
    good_share, bad_share : float or Fraction
        Up to this share of bad plates a delivery is good, from that share on it is bad.
    producer_risk : float or Fraction
        A good delivery is refused with at most this chance.
    consumer_risk : float or Fraction
        A bad delivery is accepted with at most this chance.
    most : int
        The largest sample to look for.

    Raises
    ------
    BadPlan
        If a share or a risk cannot be, or every plan measures more than `most`.

    Notes
    -----
    For each number accepted, from 0 up, the sample must be so large that a bad delivery is found
    out; larger ones only refuse more good deliveries. So that smallest sample is the only one to
    try, and the first number for which it spares good deliveries gives the smallest sample of all.
    """
    good, bad = _bounds(lot, exactly(good_share), exactly(bad_share))
    spared, risk = 1 - _risk(producer_risk), _risk(consumer_risk)
    sample = 0
    for accept in range(bad):
        sample = _found_out(lot, accept, bad, risk, max(sample, accept) + 1)
        if sample > most:
            raise BadPlan(
                f"Telling {float(100 * exactly(good_share)):g} % bad plates from "
                f"{float(100 * exactly(bad_share)):g} % takes more than {most} measured plates; "
                "give shares that lie further apart, or larger risks."
            )
        if at_least(lot, sample, accept, good, spared):
            return Plan(lot, sample, accept)
    raise AssertionError("measuring every plate keeps both risks")


def _bounds(lot: int, good_share: Fraction, bad_share: Fraction) -> tuple[int, int]:
    """Return the most bad plates of a good delivery and the fewest of a bad one."""
    if lot < 1:
        raise BadPlan(f"A delivery of {lot} plates cannot be; give 1 or more.")
    if not 0 <= good_share < bad_share <= 1:
        raise BadPlan(
            f"A good delivery with {float(100 * good_share):g} % bad plates and a bad one with "
            f"{float(100 * bad_share):g} % cannot be told apart; the first share must be the "
            "smaller, and both from 0 to 100 %."
        )
    return floor(lot * good_share), ceil(lot * bad_share)


def _risk(risk: Share) -> Fraction:
    exact = exactly(risk)
    if not 0 < exact < 1:
        raise BadPlan(f"A risk of {float(100 * exact):g} % cannot be; give more than 0, under 100.")
    return exact


def _found_out(lot: int, accept: int, bad: int, risk: Fraction, least: int) -> int:
    """Return the smallest sample, from `least` on, by which a bad delivery is found out."""
    low, step = least - 1, 1
    while low + step < lot and not at_most(lot, low + step, accept, bad, risk):
        low, step = low + step, 2 * step
    high = min(low + step, lot)
    while high - low > 1:
        middle = (low + high) // 2
        if at_most(lot, middle, accept, bad, risk):
            high = middle
        else:
            low = middle
    return high


def verdict(plan: Plan, bad_found: int, measured: int) -> Verdict:
    """Say what a sample says; as soon as the rest can change nothing, it is certain.

    Raises
    ------
    BadPlan
        If more plates were measured than the plan asks for, or more were bad than measured.
    """
    if not 0 <= bad_found <= measured <= plan.sample:
        raise BadPlan(
            f"{bad_found} bad of {measured} plates measured, of a sample of {plan.sample}, cannot "
            "be; give bad plates up to those measured, and those up to the sample."
        )
    if bad_found > plan.accept:
        return Verdict.HOLD
    if bad_found + plan.sample - measured <= plan.accept:
        return Verdict.ACCEPT
    return Verdict.GO_ON


def curve(plan: Plan, *, up_to: Share = 1, points: int = 40) -> tuple[Point, ...]:
    """Return the chances of acceptance from no bad plate to a share of them, to nine digits.

    Small deliveries have fewer points: one for each number of bad plates.
    """
    most = min(ceil(plan.lot * exactly(up_to)), plan.lot)
    steps = min(most, points) or 1
    numbers = sorted({round(most * step / steps) for step in range(steps + 1)})
    return tuple(Point(bad, bad / plan.lot, _quick(plan, bad)) for bad in numbers)


def _quick(plan: Plan, bad: int) -> float:
    return quick_chance(plan.lot, plan.sample, plan.accept, bad)


def draw(counts: Sequence[int], sample: int, seed: int) -> tuple[tuple[int, ...], ...]:
    """Choose which plates to measure: each has the same chance, wherever it lies.

    Parameters
    ----------
    counts : sequence of int
        Plates in each bin.
    sample : int
        How many to choose.
    seed : int
        The same seed chooses the same plates.

    Returns
    -------
    tuple of tuple of int
        For each bin the plates to take, counted from 1, in order.

    Raises
    ------
    BadPlan
        If the bins hold fewer.
    """
    if not 0 <= sample <= sum(counts):
        raise BadPlan(
            f"The sample is {sample} plates, but the bins hold {sum(counts)}; "
            f"measure {sum(counts)} or fewer."
        )
    # A plan for choosing, not a secret: that it can be chosen again is the point.
    chosen = sorted(Random(seed).sample(range(sum(counts)), sample))
    ends = list(accumulate(counts))
    taken: list[list[int]] = [[] for _ in counts]
    for each in chosen:
        place = bisect_right(ends, each)
        taken[place].append(each - ends[place] + counts[place] + 1)
    return tuple(tuple(which) for which in taken)
