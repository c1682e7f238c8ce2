"""Layouts against a repertoire: what each tune costs at its best place."""

import os

import numpy as np
from numpy.typing import NDArray

from combwright.comb.layouts import Layout
from combwright.playing.costs import PlayingCosts
from combwright.playing.problem import Problem, problem_of
from combwright.playing.repertoire import Ints, Repertoire
from combwright.playing.swap_states import seat_states


def fit_layout(
    repertoire: Repertoire,
    layout: Layout,
    costs: PlayingCosts,
    low: int,
) -> tuple[NDArray[np.int64], NDArray[np.int8]]:
    """Return what each tune costs on one layout at its best place above `low`, and the place."""
    seats = [seat_states(seat, ()) for seat in layout.seats]
    problem = problem_of(repertoire, layout, seats, costs, low)
    none = np.empty((1, 0), np.int32)
    found, places = cost_states(problem, none, none)
    return found[0, problem.which], places[0, problem.which]


def cost_states(
    problem: Problem, seats: Ints, states: Ints
) -> tuple[NDArray[np.int64], NDArray[np.int8]]:
    """Return the cost of each tune of a problem at its best place, and the place.

    Parameters
    ----------
    seats, states : array, shape (layouts, swaps)
        The seats that are swapped, and the state of each: one note.

    Returns
    -------
    costs, places : array, shape (layouts, tunes)
        In hundredths; 0 to 23.
    """
    from combwright.playing.desk import empty_desk
    from combwright.playing.kernel import cost_layouts

    comb, tunes, steps = problem.comb, problem.tunes, problem.steps
    costs = np.empty((len(seats), len(tunes.many)), np.int64)
    places = np.empty(costs.shape, np.int8)
    scratch = np.empty((2, len(steps.moves)), np.int64)
    desk = empty_desk(comb, steps)
    cost_layouts(seats, states, comb, tunes, steps, desk, scratch, costs, places)
    return costs, places


def cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
