"""What the day's page is made of: sections, each with its first few lines and what to do."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

#: So many lines of a section are shown; the rest is behind its title.
SHOWN = 5


@dataclass(frozen=True, slots=True)
class Act:
    """Something to do: what its button says, and where it leads."""

    label: str
    address: str


@dataclass(frozen=True, slots=True)
class Line:
    """One thing of a section.

    Parameters
    ----------
    words : str
        What it is called.
    address : str
        Its own page; empty where there is none.
    remark : str
        How far it is, or why it is here.
    due : date or None
        By when.
    over : bool
        Whether that day is past.
    """

    words: str
    address: str = ""
    remark: str = ""
    due: date | None = None
    over: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """Things of one kind that wait for somebody.

    Parameters
    ----------
    name : str
        What the order of work calls it.
    title : str
        For people.
    count : int
        How many there are.
    lines : sequence of Line
        The first of them, the most urgent first.
    act : Act or None
        What to do about the first of them; None for who may not.
    address : str
        Where all of them are listed.
    remark : str
        A word about all of them.
    """

    name: str
    title: str
    count: int
    lines: Sequence[Line] = ()
    act: Act | None = None
    address: str = ""
    remark: str = ""

    @property
    def more(self) -> int:
        """How many are not shown."""
        return max(0, self.count - len(self.lines))

    @property
    def over(self) -> bool:
        """Whether its first thing is overdue."""
        return bool(self.lines) and self.lines[0].over
