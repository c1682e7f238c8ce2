"""The seal at a backup's end: the digest of every byte before it, so that no change goes unseen.

It is the zip's comment, so any zip program opens the file; one that packs it anew breaks the seal.
"""

import hashlib
from pathlib import Path
from typing import BinaryIO, Final

_WORD: Final = b"sha256:"
_BLOCK: Final = 1 << 20
LENGTH: Final = len(_WORD) + 64
#: Stands where the seal will be, while the file is written.
BLANK: Final = _WORD + b"0" * 64


def put(path: Path) -> None:
    """Seal a file that ends in `BLANK`."""
    with path.open("r+b") as file:
        digest = _digest(file, path.stat().st_size - LENGTH)
        file.seek(-LENGTH, 2)
        file.write(_WORD + digest)


def is_whole(file: BinaryIO) -> bool:
    """Say whether a file ends in a seal and is what was sealed."""
    size = file.seek(0, 2)
    if size < LENGTH:
        return False
    file.seek(-LENGTH, 2)
    return file.read() == _WORD + _digest(file, size - LENGTH)


def _digest(file: BinaryIO, size: int) -> bytes:
    file.seek(0)
    running = hashlib.sha256()
    while size > 0 and (block := file.read(min(_BLOCK, size))):
        running.update(block)
        size -= len(block)
    return running.hexdigest().encode()
