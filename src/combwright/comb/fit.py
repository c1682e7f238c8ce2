"""Whether a plate goes into a seat: measured lengths decide, never a rule of thumb."""

from dataclasses import dataclass

from combwright.comb.combs import Comb, MountRule
from combwright.comb.seats import Deck, Mount


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether a plate fits a seat, and if not, why.

    Parameters
    ----------
    fits : bool
        The verdict.
    why : str
        What is in the way, with the two lengths or the two mounts; empty when it fits.
    slot_mm, takes_mm : float
        The plate's slot, and the longest slot that the seat takes.
    """

    fits: bool
    why: str
    slot_mm: float
    takes_mm: float


def fit(slot_mm: float, mount: Mount, comb: Comb, hole: int, deck: Deck) -> Fit:
    """Judge whether a plate of this slot and mount fits one seat of a comb.

    A slot exactly as long as the chamber takes fits (docs: formats, comb.toml).

    Raises
    ------
    NoSuchHole
        If the comb has no such hole.
    """
    takes_mm = comb.takes_mm(hole)
    reasons = []
    if not slot_mm <= takes_mm:
        reasons.append(f"slot {_mm(slot_mm)} mm, chamber {hole} takes {_mm(takes_mm)} mm")
    if not accepts(comb.deck(deck).mount, mount):
        reasons.append(
            f"mounted at the {mount}, the {deck} deck takes plates mounted at the "
            f"{comb.deck(deck).mount}"
        )
    return Fit(not reasons, "; ".join(reasons), slot_mm, takes_mm)


def accepts(rule: MountRule, mount: Mount) -> bool:
    """Return whether a deck of this rule accepts a plate of this mount."""
    return rule in ("any", mount)


def _mm(length_mm: float) -> str:
    # Enough digits that a slot refused by a hair never reads as equal to what the chamber takes.
    return f"{length_mm:.6f}".rstrip("0").rstrip(".")
