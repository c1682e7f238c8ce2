"""The one family of errors: what a person can put right.

    CombwrightError
    ├── notes: BadNote, NoteOutOfRange, CentsTooFar, BadKey, BadPitchStandard, BadTemperament
    ├── comb: BadComb, BadLayout, BadSeat, NoSuchHole, NoSuchLayout, NoSuchScale, BadChange
    ├── allocation: BadStock, BadOrders, PromiseCannotBeKept
    ├── files: BadCell, BadWish, BadFile
    │   └── BadTable (a BadFile: every bad row at once)
    ├── sheets: BadSheet
    ├── demo: WouldOverwrite, CannotWrite
    ├── shop: BadPlace, ShopFault, Refused, Wait, LinkRefused
    │   └── NotSo: NotEnough, RackChanged, BookedBefore
    └── cli: BadNumber, TooShort, CannotServe

A text says what is wrong, the value, and what would be right. Bugs are not dressed: they crash.
"""


class CombwrightError(Exception):
    """Something a person gave or asked that cannot be, in one line they can act on."""
