"""The swap search on a Dask cluster: the same pieces of work, each worked out by some worker.

The package `distributed` is looked for only when a cluster is asked for. The repertoire is sent to
every worker once; after that only the numbers of seats and what is left of families travel. No
family is worked out differently for where it is worked out, so neither answer nor proof are.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib.metadata import version
from typing import Any, Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from combwright.errors import CombwrightError
from combwright.playing.repertoire import Ints
from combwright.playing.working import FAMILIES, Families, Job, Leaves, Work, key_pieces

T = TypeVar("T")
A = TypeVar("A")
#: Seconds that are waited for a scheduler.
_PATIENCE: Final = 10
#: Tasks for each thread of the cluster: few, since each costs the scheduler about a millisecond.
_TASKS: Final = 4


class NoCluster(CombwrightError):
    """A cluster that cannot be worked on: not there, without workers, or broken off."""


@contextmanager
def on_cluster(address: str | None) -> Iterator[Callable[[Job], Work] | None]:
    """Connect to the scheduler at an address such as tcp://10.0.0.5:8786; with None, do nothing.

    What it gives is the `work` of `search`.

    Raises
    ------
    NoCluster
        If the package is missing, nobody answers, there are no workers, they run another version of
        Combwright, or the cluster breaks off.
    """
    if address is None:
        yield None
        return
    with _client(address) as client:
        many = _check(client, address)
        try:
            yield lambda job: ClusterWork(client, job, many)
        except _broken() as problem:
            raise NoCluster(
                f"The cluster at {address!r} broke off before the answer was found: its scheduler "
                "or all its workers are gone. Start them and ask again."
            ) from problem


def _client(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError:
        raise NoCluster(
            'To work on a cluster, install what it needs: pip install "combwright[cluster]"'
        ) from None
    try:
        connect: Any = Client
        return connect(address, timeout=_PATIENCE, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as problem:
        raise NoCluster(
            f"No Dask scheduler answers at {address!r}; give the address that it says when it "
            "starts, such as tcp://10.0.0.5:8786."
        ) from problem


def _check(client: Any, address: str) -> int:
    """Return how many threads the workers have; each must run this very version."""
    threads = sum(client.nthreads().values())
    if not threads:
        raise NoCluster(
            f"The cluster at {address!r} has no workers; start some with `dask worker`."
        )
    here = version("combwright")
    try:
        there = set(client.run(version, "combwright").values())
    except Exception as problem:  # whatever a worker without the package raises is sent over
        raise NoCluster(
            f"A worker of the cluster at {address!r} has no Combwright: {_first_line(problem)}"
        ) from problem
    if there != {here}:
        raise NoCluster(
            f"Workers of the cluster at {address!r} run Combwright "
            f"{', '.join(sorted(there))}; here is {here}. Install the same everywhere."
        )
    return int(threads)


def _broken() -> tuple[type[Exception], ...]:
    from distributed import CancelledError, KilledWorker
    from distributed.comm.core import CommClosedError

    return CancelledError, KilledWorker, CommClosedError


def _first_line(problem: Exception) -> str:
    return next(iter(str(problem).splitlines()), type(problem).__name__)


class ClusterWork:
    """Works on the workers of a cluster."""

    def __init__(self, client: Any, job: Job, threads: int) -> None:
        self._client, self._tasks = client, _TASKS * threads
        self._job = client.scatter(job, broadcast=True, hash=False)

    def search(self, families: Families, worst: int) -> Iterator[tuple[Families, Leaves]]:
        """Yield each piece of some families and what is left of it, in order."""
        pieces = list(families.cut(FAMILIES))
        yield from zip(pieces, self._run(_search, pieces, worst), strict=True)

    def totals(self, keys: Ints) -> NDArray[np.int64]:
        """Return the costs of sets, all tunes together."""
        return np.concatenate(list(self._run(_totals, key_pieces(keys))))

    def _run(self, work: Callable[..., list[T]], pieces: Sequence[A], *more: int) -> Iterator[T]:
        """Yield what each piece gives, in order; what is not waited for any more is called off."""
        many = -(-len(pieces) // self._tasks)
        futures = [
            self._client.submit(work, self._job, pieces[at : at + many], *more, pure=False)
            for at in range(0, len(pieces), max(many, 1))
        ]
        try:
            for future in futures:
                yield from future.result()
        finally:
            self._client.cancel(futures)


def _search(job: Job, pieces: Sequence[Families], worst: int) -> list[Leaves]:
    return [job.search(piece, worst) for piece in pieces]


def _totals(job: Job, pieces: Sequence[Ints]) -> list[NDArray[np.int64]]:
    return [job.totals(piece) for piece in pieces]
