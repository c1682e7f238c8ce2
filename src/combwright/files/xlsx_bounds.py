"""How large a workbook may be, unpacked.

A workbook is a zip archive of XML, and a small archive can unpack to any size. It is held against
the bounds twice before any of it is parsed: as the archive states it, and as it really comes out.
"""

import io
import zipfile
from typing import Final

from combwright.files.opening import MEBIBYTE
from combwright.files.results import BadFile

MOST_UNPACKED_MIB: Final = 256
_MOST_PARTS: Final = 2_000
_MOST_CELLS: Final = 8_000_000
_MOST_TEXTS: Final = 2_000_000
#: The XML parser holds one row, or one part without rows, in memory; a real one is far smaller.
_LONGEST_STRETCH: Final = 8 * MEBIBYTE


def check_archive(data: bytes, name: str) -> None:
    """Go on when the bytes are a sound workbook archive within bounds.

    Raises
    ------
    BadFile
        If it is broken, protected by a password, or too large unpacked; `name` is for the message.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            _check_stated(parts, name)
            unpacked = 0
            for part in parts:
                unpacked += _unpacked_size(archive, part, name)
                if unpacked > MOST_UNPACKED_MIB * MEBIBYTE:
                    raise _too_large(name)
    except BadFile:
        raise
    except Exception as error:
        # zipfile and zlib have a dozen ways to fail on a damaged archive; all are the file's.
        raise BadFile(f"{name} is a broken workbook ({error}); save it again.") from error


def _check_stated(parts: list[zipfile.ZipInfo], name: str) -> None:
    if any(part.flag_bits & 1 for part in parts):
        raise BadFile(f"{name} is protected by a password; save it without one.")
    if "[Content_Types].xml" not in {part.filename for part in parts}:
        raise BadFile(f"{name} is no XLSX workbook; save it as XLSX, or as CSV UTF-8.")
    stated = sum(part.file_size for part in parts)
    if len(parts) > _MOST_PARTS or stated > MOST_UNPACKED_MIB * MEBIBYTE:
        raise _too_large(name)


def _unpacked_size(archive: zipfile.ZipFile, part: zipfile.ZipInfo, name: str) -> int:
    """Unpack a part bit by bit, keep nothing of it, and return its size."""
    size = stretch = cells = texts = 0
    tail = b""
    with archive.open(part) as stream:
        while block := stream.read(MEBIBYTE):
            window = tail + block
            if b"<!DOCTYPE" in window or b"<!ENTITY" in window:
                raise BadFile(f"{name} is no sound workbook: its XML declares entities.")
            size += len(block)
            cells += block.count(b"<c ") + block.count(b"<c>") + block.count(b"<c/")
            texts += block.count(b"<si")
            # Rows and texts begin and end with these letters, with or without a prefix.
            last = max(window.rfind(b"row"), window.rfind(b"<si"))
            stretch = stretch + len(block) if last < 0 else len(window) - last
            if (
                size > MOST_UNPACKED_MIB * MEBIBYTE
                or stretch > _LONGEST_STRETCH
                or cells > _MOST_CELLS
                or texts > _MOST_TEXTS
            ):
                raise _too_large(name)
            tail = block[-16:]
    return size


def _too_large(name: str) -> BadFile:
    return BadFile(
        f"{name} unpacks to more than a table needs (over {MOST_UNPACKED_MIB} MiB, or one part of "
        "it far too large) and was not read; keep only the table in it, or save it as CSV UTF-8."
    )
