"""Codes for single plates: short, in sequence, and wrong when one letter is.

A code is a number in 31 signs with one sign more that checks it: `2A7K9`. The signs are the digits
and capital letters without 0, O, 1, I and L, which look alike on a plate. Each sign has its value
times its place from the right summed; the check sign brings the sum to a multiple of 31. Since 31
is a prime, one wrong sign, or two neighbours that changed places, always leave another remainder:
the slip is caught and never opens somebody else's plate.
"""

from typing import Final

#: In the order of their values, which is also the order in which they sort.
SIGNS: Final = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
_LEAST_SIGNS: Final = 4


def plate_code(number: int) -> str:
    """Return the code of the plate with a number, counted from 1."""
    signs = ""
    left = number
    while left:
        left, value = divmod(left, len(SIGNS))
        signs = SIGNS[value] + signs
    signs = signs.rjust(_LEAST_SIGNS, SIGNS[0])
    return signs + SIGNS[-_weighed(signs) % len(SIGNS)]


def is_plate_code(text: str) -> bool:
    """Say whether a text is a code whose check sign is right."""
    if len(text) <= _LEAST_SIGNS or any(sign not in SIGNS for sign in text):
        return False
    return (_weighed(text[:-1]) + SIGNS.index(text[-1])) % len(SIGNS) == 0


def looks_like_a_plate_code(text: str) -> bool:
    """Say whether somebody may have meant a plate: so many signs, if not the right ones."""
    tidy = text.strip().upper()
    return len(tidy) == _LEAST_SIGNS + 1 and all(sign in SIGNS + "0O1IL" for sign in tidy)


def _weighed(signs: str) -> int:
    """Sum the values by their places from the right, the check sign's place being 1."""
    return sum(SIGNS.index(sign) * place for place, sign in enumerate(reversed(signs), start=2))
