"""The one error of the room."""

from combwright.errors import CombwrightError


class BadSheet(CombwrightError):
    """A drawing, page or label that cannot be made from what was given."""
