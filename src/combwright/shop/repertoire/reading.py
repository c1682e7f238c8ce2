"""Reading what was sent: files of tunes of any kind, and how much work they are."""

from collections.abc import Callable, Iterator, Sequence
from io import BytesIO
from itertools import count
from typing import Final
from zipfile import BadZipFile, ZipFile

from combwright.tunes.opening import read_tune_bytes
from combwright.tunes.pace import told_of_each
from combwright.tunes.tune import Reading, Tune

#: Files of more bytes than this, unpacked, are read by a worker: they take more than a second.
AT_ONCE: Final = 256 * 1024
#: Name and bytes.
Given = tuple[str, bytes]
Told = Callable[[int, int, str, int], None]


def weight(files: Sequence[Given]) -> int:
    """Return how many bytes there are to read, those of zipped folders unpacked."""
    return sum(_unpacked(data) for _name, data in files)


def _unpacked(data: bytes) -> int:
    if not data.startswith(b"PK"):
        return len(data)
    try:
        with ZipFile(BytesIO(data)) as folder:
            return sum(each.file_size for each in folder.infolist())
    except (BadZipFile, OSError, ValueError, NotImplementedError):
        return len(data)


def read_files(files: Sequence[Given], told: Told) -> Reading:
    """Read files in their order.

    Parameters
    ----------
    files : sequence of (str, bytes)
        Each with its name.
    told : callable
        Told of every tune that is begun: how many bytes of how many are read, of whole files (of
        0 where there is but one file), which file is read, and how many tunes were begun.
    """
    total = sum(len(data) for _name, data in files) if len(files) > 1 else 0
    tunes: list[Tune] = []
    faults: list[str] = []
    begun, done = count(1), 0
    for name, data in files:
        with told_of_each(_teller(told, (done, total, name), begun)):
            found = read_tune_bytes(data, name)
        tunes += found.tunes
        faults += found.faults
        done += len(data)
    return Reading(tuple(tunes), tuple(faults))


def _teller(told: Told, where: tuple[int, int, str], begun: Iterator[int]) -> Callable[[], None]:
    return lambda: told(*where, next(begun))
