"""Made-up lines, instruments and costs, and the slow way to the cheapest: all ways tried."""

import itertools
import random

from combwright.comb.layouts import Layout
from combwright.comb.reach import sounds
from combwright.comb.seats import Seat
from combwright.playing.costs import PlayingCosts
from combwright.playing.lines import Step
from combwright.playing.programme import play
from combwright.playing.repertoire import lowest_reed
from combwright.playing.swap_sets import swapped


def random_costs(rng):
    costs = {
        "bend": tuple(rng.randrange(0, 300) for _ in range(rng.randint(1, 3))),
        "overbend": rng.randrange(500), "along": rng.randrange(200),
        "short_under": 1, "short_times": rng.choice([50, 100, 150, 200]),
        "change": rng.randrange(60), "change_after_rest": rng.randrange(30), "rest": 1,
        "hole": rng.randrange(40), "hole_most": rng.randrange(200),
    }  # fmt: skip
    return PlayingCosts(missing=rng.randint(2500, 4000), **costs)


def random_layout(rng, *, holes=None, empty=0.15):
    """Return an odd instrument: any note in any seat, seats empty, two of one breath in a hole."""
    holes = holes or rng.randint(1, 16)
    seats = [
        Seat(hole, deck, rng.choice(["blow", "draw"]), rng.randint(55, 84))
        for hole in range(1, holes + 1)
        for deck in ("upper", "lower")
        if rng.random() > empty
    ]
    return Layout("odd", tuple(seats), holes=holes)


def random_line(rng, layout, *, most=6):
    """Return a short line, most of its notes such as the instrument has, in several ways if any."""
    ways = sounds(layout)
    rich = [midi for midi, found in ways.items() if len(found) > 1]
    notes = [*ways, *rich * 3, rng.randint(50, 90)]
    return tuple(
        Step(rng.choice(notes), rng.random() < 0.3, rng.random() < 0.2)
        for _ in range(rng.randint(1, most))
    )


def cheapest_of_all(line, ways, costs, shift=0):
    """Return the least cost of every way to play a line, each added up by itself."""
    choices = [ways.get(step.midi + shift) or (None,) for step in line]
    return min(added_up(line, way, costs) for way in itertools.product(*choices))


def added_up(line, way, costs):
    total = 0
    for n, (step, sound) in enumerate(zip(line, way, strict=True)):
        total += costs.missing if sound is None else costs.of_sound(sound, short=step.short)
        if n and sound is not None and way[n - 1] is not None:
            total += costs.between(way[n - 1], sound, rested=step.rested)
    return total


def seeded(number):
    return random.Random(number)


def cost_of(layout, lines, costs, low):
    """Return what lines cost on a layout, each at the cheapest of its 24 places."""
    ways, total = sounds(layout), 0
    for line in lines:
        first = low - min(step.midi for step in line)
        total += min(play(line, ways, costs, shift=first + lane).cost for lane in range(24))
    return total


def enumerated(space, lines, costs, size):
    """Return the cost of every set of so many swaps and the set, best first, then in order."""
    low = lowest_reed(space.layout)
    found = [
        (cost_of(swapped(space.layout, chosen), lines, costs, low), n, chosen)
        for n, chosen in enumerate(space.sets(size))
    ]
    return [(cost, chosen) for cost, _, chosen in sorted(found, key=lambda f: f[:2])]
