"""The one family of errors: what a person can put right.

    CombwrightError
    ├── notes: BadNote, NoteOutOfRange, CentsTooFar, BadKey, BadPitchStandard, BadTemperament
    ├── comb: BadComb, BadLayout, BadSeat, NoSuchHole, NoSuchLayout, NoSuchScale, BadChange,
    │         BadOrder
    ├── allocation: BadStock, BadOrders, PromiseCannotBeKept
    ├── ear: BadSound: NoReed, NoReeds
    ├── files: BadCell, BadWish, BadFile
    │   └── BadTable (a BadFile: every bad row at once)
    ├── sheets: BadSheet
    ├── demo: WouldOverwrite, CannotWrite
    ├── inspection: BadPlan
    ├── shop: BadPlace, ShopFault
    │   ├── people: Refused, Wait, LinkRefused
    │   ├── jobs: CannotWork
    │   ├── designs: NoSuchDesign
    │   │   └── NotSo: NameTaken, ChangedMeanwhile, UsualWouldChange
    │   ├── rack: NotSo: NotEnough, RackChanged, BookedBefore, SetAside, NoneLeft, Meanwhile
    │   │   ├── counting: RoundClosed, CountedMeanwhile, MovedMeanwhile
    │   │   └── arrivals: Decided
    │   ├── orders: NoSuchStep, BadWishRow
    │   ├── plans: PlanIsOld, NotPinned
    │   ├── bench: NotThus
    │   ├── tuning: BadTalk
    │   ├── repertoire: NotSo: Gone; TooLong
    │   ├── papers: BadChoice
    │   ├── backups: CannotBackUp, NoSuchBackup, BadBackup, DoesNotFit, Unsound, CannotMove,
    │   │            NotUpToDate
    │   ├── practice: PracticeRefused
    │   └── api: Problem
    └── cli: BadNumber, TooShort, CannotServe

A text says what is wrong, the value, and what would be right. Bugs are not dressed: they crash.
"""


class CombwrightError(Exception):
    """Something a person gave or asked that cannot be, in one line they can act on."""
