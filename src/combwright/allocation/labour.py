"""What retuning a reed costs, and in which way it is done."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from combwright.allocation.problem import Ints, money_units
from combwright.allocation.workshop import Way, Workshop

_NEVER: Final = np.iinfo(np.int64).max


@dataclass(frozen=True, slots=True)
class Labour:
    """A workshop's retuning in whole numbers: thousandths of a cent, millionths of money.

    Parameters
    ----------
    free, filed_down, weighted : int
        How far is free, how far a reed may be filed down, and how far lowered by a weight.
    file_fixed, weight_fixed : int
        What a retune costs in either way, whatever its size.
    file_each, weight_each : float
        What each thousandth of a cent costs beside that.
    """

    free: float
    filed_down: float
    weighted: float
    file_fixed: int
    file_each: float
    weight_fixed: int
    weight_each: float

    def units(self, retune: Ints) -> Ints:
        """Return what retunes within reach cost, the cheaper way taken.

        Parameters
        ----------
        retune : array of int, shape (...)
            Wanted less present pitch in thousandths of a cent.
        """
        far = np.abs(retune)
        filed = self.file_fixed + np.rint(self.file_each * far).astype(np.int64)
        filed = np.where(-retune > self.filed_down, _NEVER, filed)
        weighted = self.weight_fixed + np.rint(self.weight_each * far).astype(np.int64)
        weighted = np.where((retune >= 0) | (far > self.weighted), _NEVER, weighted)
        return np.asarray(np.where(far <= self.free, 0, np.minimum(filed, weighted)))

    def of(self, retune: int) -> tuple[Way, int]:
        """Return the way of one retune within reach, and what it costs."""
        far = abs(retune)
        if far <= self.free:
            return "none", 0
        filed = self.file_fixed + round(self.file_each * far)
        weighted = self.weight_fixed + round(self.weight_each * far)
        if retune > 0 or far > self.weighted or (far <= self.filed_down and filed <= weighted):
            return "file", filed
        return "weight", weighted


def labour_of(workshop: Workshop) -> Labour:
    """Return a workshop's retuning in whole numbers."""
    retune, weight = workshop.retune, workshop.weight
    return Labour(
        free=1000 * retune.free_cents,
        filed_down=1000 * retune.lower_most_cents,
        weighted=1000 * weight.lower_most_cents,
        file_fixed=money_units(retune.fixed),
        file_each=float(retune.each_cent) * 1000,
        weight_fixed=money_units(weight.fixed),
        weight_each=float(weight.each_cent) * 1000,
    )
