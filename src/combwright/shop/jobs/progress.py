"""How far work is."""

from dataclasses import dataclass

from combwright.shop.jobs.wording import one_line

_MOST_STEPS = 2**62
_MOST_LETTERS = 200


@dataclass(frozen=True, slots=True)
class Progress:
    """So many steps of so many, and what is being done; a total of 0 means that nobody knows."""

    done: int = 0
    total: int = 0
    words: str = ""

    def after(self, done: int, total: int, words: str = "") -> "Progress":
        """Return what stands after this was said; a share that would go back stays where it was.

        Parameters
        ----------
        done, total : int
            Steps, put right where they lie outside 0 to the total.
        words : str
            What is being done; empty keeps what was said before.
        """
        total = min(max(0, total), _MOST_STEPS)
        done = min(max(0, done), total)
        # done / total < self.done / self.total, without rounding
        if not total or done * self.total < self.done * total:
            done, total = self.done, self.total
        return Progress(done, total, one_line(words, _MOST_LETTERS) or self.words)
