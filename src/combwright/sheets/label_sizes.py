"""The labels a shop has: so many on a sheet of paper, or one after another on a roll."""

import math
from dataclasses import dataclass
from typing import Final, Literal

from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.labels import PAPERS, LabelPlace

Paper = Literal["A4", "letter"]
#: Nothing smaller holds a QR code that a camera reads, nothing larger goes on a bin.
LEAST_MM: Final = 8.0
MOST_MM: Final = 300.0
_MOST_ACROSS: Final = 40
#: Desk printers leave so much of a sheet's edge white (common practice).
_UNPRINTED_MM: Final = 4.3
#: Hundredths of a millimetre that are forgiven: sizes are printed on boxes rounded.
_FORGIVEN_MM: Final = 0.05


@dataclass(frozen=True, slots=True)
class LabelSize:
    """How large the labels are and where they lie, in millimetres.

    Parameters
    ----------
    width_mm, height_mm : float
        One label.
    paper : {"A4", "letter"} or None
        The sheet; None for a roll, where the rest counts for nothing.
    columns, rows : int
        How many labels a sheet has across and down.
    left_mm, top_mm : float
        From the edge of the sheet to the first label.
    gap_x_mm, gap_y_mm : float
        Between one label and the next.
    """

    width_mm: float
    height_mm: float
    paper: Paper | None = None
    columns: int = 1
    rows: int = 1
    left_mm: float = 0.0
    top_mm: float = 0.0
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0

    @property
    def on_a_sheet(self) -> int:
        """How many labels a sheet holds; a roll's page is one label."""
        return 1 if self.paper is None else self.columns * self.rows

    @property
    def page_mm(self) -> tuple[float, float]:
        """Width and height of a page: the sheet, or on a roll the label itself."""
        return (self.width_mm, self.height_mm) if self.paper is None else PAPERS[self.paper]

    @property
    def kept_clear_mm(self) -> tuple[float, float]:
        """How much of each label's sides, and of its top and bottom, no printer may reach."""
        if self.paper is None:
            return 0.0, 0.0
        wide, high = self.page_mm
        right = wide - _end(self.left_mm, self.columns, self.width_mm, self.gap_x_mm)
        bottom = high - _end(self.top_mm, self.rows, self.height_mm, self.gap_y_mm)
        return (
            max(0.0, _UNPRINTED_MM - min(self.left_mm, right)),
            max(0.0, _UNPRINTED_MM - min(self.top_mm, bottom)),
        )

    def places(self) -> tuple[LabelPlace, ...]:
        """Return where the labels lie on a page, row by row from the top left.

        Raises
        ------
        BadSheet
            If they are no labels, or do not all lie on the paper.
        """
        self._check_label()
        if self.paper is None:
            return (LabelPlace(0.0, 0.0, self.width_mm, self.height_mm),)
        self._check_sheet()
        return tuple(
            LabelPlace(
                self.left_mm + column * (self.width_mm + self.gap_x_mm),
                self.top_mm + row * (self.height_mm + self.gap_y_mm),
                self.width_mm,
                self.height_mm,
            )
            for row in range(self.rows)
            for column in range(self.columns)
        )

    def _check_label(self) -> None:
        for length, what in ((self.width_mm, "wide"), (self.height_mm, "high")):
            if not LEAST_MM <= length <= MOST_MM:
                raise BadSheet(
                    f"A label {length:g} mm {what} cannot be; give {LEAST_MM:g} to {MOST_MM:g} mm."
                )

    def _check_sheet(self) -> None:
        for many, what in ((self.columns, "columns"), (self.rows, "rows")):
            if not 1 <= many <= _MOST_ACROSS:
                raise BadSheet(f"A sheet of {many} {what} cannot be; give 1 to {_MOST_ACROSS}.")
        lengths = (self.left_mm, self.top_mm, self.gap_x_mm, self.gap_y_mm)
        for length in lengths:
            if not (math.isfinite(length) and length >= 0):
                raise BadSheet(f"A margin or gap of {length:g} mm cannot be; give 0 or more.")
        wide, high = PAPERS[self.paper or "A4"]
        self._check_fit(
            "columns", self.columns, self.left_mm, self.width_mm, self.gap_x_mm, wide, "wide"
        )
        self._check_fit("rows", self.rows, self.top_mm, self.height_mm, self.gap_y_mm, high, "high")

    def _check_fit(
        self, what: str, many: int, margin: float, each: float, gap: float, paper: float, way: str
    ) -> None:
        end = _end(margin, many, each, gap)
        if end > paper + _FORGIVEN_MM:
            raise BadSheet(
                f"{many} {what} of {each:g} mm with the margin of {margin:g} mm and gaps of "
                f"{gap:g} mm need {end:.1f} mm, but {self.paper} is {paper:g} mm {way}; "
                f"give fewer {what} or smaller measures."
            )


def _end(margin: float, many: int, each: float, gap: float) -> float:
    return margin + many * each + (many - 1) * gap
