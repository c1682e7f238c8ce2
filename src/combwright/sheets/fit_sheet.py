"""A sheet to try a label size with: every label's outline, and rulers in millimetres."""

from combwright.sheets.label_sizes import LabelSize
from combwright.sheets.typeset import Press, pages


def fit_sheet_pdf(size: LabelSize, *, title: str, shared: Press | None = None) -> bytes:
    """Draw the outlines of a size's labels to be held against the real sheet.

    Parameters
    ----------
    size : LabelSize
        The labels, and where they lie.
    title : str
        The size's name, printed within the first label.
    shared : Press or None
        A press to share.

    Raises
    ------
    BadSheet
        If the sizes do not fit the paper.
    """
    wide, high = size.page_mm
    places = [
        {"x": place.x_mm, "y": place.y_mm, "width": place.width_mm, "height": place.height_mm}
        for place in size.places()
    ]
    data = {"page": {"width": wide, "height": high}, "title": title, "places": places}
    return pages("fit-sheet", data, shared)
