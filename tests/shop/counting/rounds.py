"""What the counting tests begin with: bins, a round over them, and a count in it."""

from combwright.shop.counting import actions
from combwright.shop.counting.queries import Scope, newest_line
from shop.rack.shelves import a_bin, somebody


def a_rack(*counts):
    return [a_bin(f"A-{n}", plates) for n, plates in enumerate(counts, start=1)]


def a_round(most=20, person=None, **scope):
    return actions.start(person or somebody(), most, Scope(**scope))


def counted(round_, place, found, person=None, **more):
    ask = round_.asks.get(place=place)
    told = {"seen": ask.state, "line_seen": newest_line(ask.bin_id)} | more
    return actions.count(person or somebody(), ask, found, **told)
