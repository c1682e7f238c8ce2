"""The one family of errors: what a person can put right.

    CombwrightError
    ├── notes: BadNote, BadKey, BadPitchStandard, BadTemperament
    ├── comb: BadComb, BadLayout, NoSuchHole, NoSuchLayout, BadChange, BadSeat
    ├── allocation: BadStock, BadOrders, BadWorkshop, PromiseCannotBeKept
    ├── files: BadFile, BadTable (every bad row at once)
    └── sheets: BadSheet

A text says what is wrong, the value, and what would be right. Bugs are not dressed: they crash.
"""


class CombwrightError(Exception):
    """Something a person gave or asked that cannot be, in one line they can act on."""
