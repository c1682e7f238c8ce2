"""The comb's front in a drawing, and the names of what lies above and below it."""

from combwright.comb.seats import DECKS
from combwright.sheets.geometry import BAR_HEIGHT, Geometry
from combwright.sheets.look import COMB, INK, PAPER, QUIET
from combwright.sheets.svg import Value, element, label, rectangle


def comb_front(places: Geometry) -> str:
    """Draw the comb's front with the numbered mouths of its chambers."""
    top = places.bar_top
    parts = [
        rectangle(
            places.left - 10, top, places.holes * places.pitch + 20, BAR_HEIGHT,
            {"rx": 14, "fill": COMB, "stroke": INK, "stroke-width": 1.4},
        )
    ]  # fmt: skip
    for hole in range(1, places.holes + 1):
        middle = places.middle(hole)
        parts.append(rectangle(middle - 19, top + 12, 38, BAR_HEIGHT - 24, {"rx": 4, "fill": INK}))
        look: dict[str, Value] = {"fill": PAPER, "font-size": 16.0, "font-weight": 600}
        parts.append(label(middle, top + BAR_HEIGHT / 2 + 5.5, str(hole), look))
    return "".join(parts)


def deck_names(places: Geometry) -> str:
    """Write at the left which deck is which, and where front and rear lie."""
    x = places.left - 24
    parts = []
    for deck in DECKS:
        front = places.front(deck)
        rear = front + (-1 if deck == "upper" else 1) * places.long(places.longest_mm)
        quiet: dict[str, Value] = {"fill": QUIET, "font-size": 13.5}
        rail = f"M{x + 6:g} {rear:g}h-6V{front:g}h6"
        parts.append(
            element("path", {"d": rail, "fill": "none", "stroke": QUIET, "stroke-width": 0.9})
        )
        for end, y in (("rear", rear), ("front", front)):
            shift = 9.0 if y == min(front, rear) else -1.0
            parts.append(label(x - 5, y + shift, end, {**quiet, "text-anchor": "end"}))
        y = (front + rear) / 2
        turned: dict[str, Value] = {"font-size": 14.5, "font-weight": 600, "fill": INK}
        turn = f"rotate(-90 {x - 14:g} {y:g})"
        parts.append(label(x - 14, y, f"{deck} deck", {**turned, "transform": turn}))
    return "".join(parts)
