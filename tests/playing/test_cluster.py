"""The search on a cluster gives the same answer and proof, and says in a line why it cannot."""

import subprocess
import sys

import pytest
from distributed import LocalCluster

from cli.commands import combwright
from combwright.comb.catalogue import catalogue_layout
from combwright.playing.cluster import NoCluster, on_cluster
from combwright.playing.costs import preset
from combwright.playing.repertoire import repertoire_of
from combwright.playing.swap_sets import SwapSpace, all_swaps
from combwright.playing.swapping import search
from playing.lines import random_line, seeded

COSTS = preset("intermediate")
BASE = catalogue_layout("standard")


@pytest.fixture(scope="module")
def scheduler():
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        yield cluster.scheduler_address


def test_two_workers_give_the_answer_and_the_proof_of_this_machine(scheduler):
    rng = seeded(7)
    tunes = repertoire_of([random_line(rng, BASE, most=30) for _ in range(20)])
    space = SwapSpace(BASE, all_swaps(BASE, 2))
    here = search(space, tunes, COSTS, most=2, threads=1)
    told = []
    with on_cluster(scheduler) as work:
        there = search(space, tunes, COSTS, most=2, work=work, progress=lambda *t: told.append(t))
    assert there == here
    assert told[-1] == (2, 3040, 3040)


def test_what_stops_a_search_stops_it_on_a_cluster_too(scheduler):
    class Enough(Exception):
        pass

    def progress(size, done, total):
        if size == 2:
            raise Enough

    space = SwapSpace(BASE, all_swaps(BASE, 2))
    tunes = repertoire_of([random_line(seeded(8), BASE, most=30)])
    with on_cluster(scheduler) as work, pytest.raises(Enough):
        search(space, tunes, COSTS, most=2, work=work, progress=progress)


def test_a_cluster_that_is_not_there_is_one_line(monkeypatch):
    monkeypatch.setattr("combwright.playing.cluster._PATIENCE", 0.5)
    for address in ("tcp://127.0.0.1:9", "nonsense://there", "not an address"):
        with (
            pytest.raises(NoCluster, match=rf"^No Dask scheduler answers at '{address}'; give"),
            on_cluster(address),
        ):
            pass


@pytest.fixture
def tune(tmp_path):
    path = tmp_path / "a.abc"
    path.write_text("X:1\nT:A\nL:1/4\nK:C\nCDEF GABc|\n")
    return path


def test_the_command_answers_the_same_from_a_cluster(scheduler, tune):
    here = combwright("swaps", tune, "--most", "1", "--json").document
    assert (
        combwright("swaps", tune, "--most", "1", "--json", "--cluster", scheduler).document == here
    )


def test_without_the_package_a_line_says_what_to_install_and_the_rest_works(monkeypatch, tune):
    monkeypatch.setitem(sys.modules, "distributed", None)  # which makes importing it fail
    assert combwright("swaps", tune, "--most", "1").code == 0
    error = combwright("swaps", tune, "--cluster", "tcp://127.0.0.1:9").error
    assert error.endswith('install what it needs: pip install "combwright[cluster]"')


def test_nothing_looks_for_the_package_before_it_is_asked_for():
    code = (
        "import sys; sys.modules['distributed'] = sys.modules['dask'] = None\n"
        "import combwright.cli.main, combwright.playing.cluster, combwright.playing.swapping"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
