"""Opening a file: only an ordinary one, only up to a size; one clear line for anything else."""

from pathlib import Path
from typing import Final

from combwright.files.results import BadFile, one_line

MEBIBYTE: Final = 2**20
_LONGEST_SHOWN: Final = 200


def read_bytes(path: Path, *, most_mib: int) -> bytes:
    """Read a whole file, refusing it by its size before a byte of it is read.

    Parameters
    ----------
    path : Path
        Of an ordinary file.
    most_mib : int
        The largest size that is read, in MiB.

    Raises
    ------
    BadFile
        If it is missing, a folder, no ordinary file, may not be read, or is too large.
    """
    try:
        if path.is_dir():
            raise BadFile(f"{shown(path)} is a folder; name a file in it.")
        size = path.stat().st_size
        if not path.is_file():
            raise BadFile(f"{shown(path)} is no ordinary file; save its contents in one.")
        if size <= most_mib * MEBIBYTE:
            with path.open("rb") as file:
                data = file.read(most_mib * MEBIBYTE + 1)
            size = len(data)
    except (OSError, ValueError) as error:
        raise BadFile(_refusal(path, error)) from error
    if size > most_mib * MEBIBYTE:
        raise BadFile(
            f"{shown(path)} has {size / MEBIBYTE:,.1f} MiB and was not read; "
            f"the most for such a file is {most_mib} MiB."
        )
    return data


def read_text(path: Path, *, most_mib: int) -> str:
    """Read a whole file of UTF-8 text, with or without a byte order mark.

    Raises
    ------
    BadFile
        As `read_bytes`, and if it is not UTF-8 or holds a NUL byte; the row and byte are named.
    """
    return text_of(read_bytes(path, most_mib=most_mib), name=one_line(path.name))


def text_of(data: bytes, *, name: str) -> str:
    """Decode UTF-8 text, with or without a byte order mark.

    Raises
    ------
    BadFile
        If it is not UTF-8 or holds a NUL byte; the row and byte are named.
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise BadFile(f"{name} is saved as UTF-16; save it as UTF-8.")
    nul = data.find(b"\0")
    if nul >= 0:
        raise BadFile(
            f"{name}, {_place(data, nul)}: a NUL byte; this is no text, or a damaged one."
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # With a byte order mark the decoder counts from behind it.
        at = error.start + len(data) - len(error.object)
        raise BadFile(
            f"{name}, {_place(data, at)}: the byte 0x{data[at]:02x} is not UTF-8; "
            "save the file as UTF-8 (in a spreadsheet: CSV UTF-8)."
        ) from error


def shown(path: Path) -> str:
    """Return a path as given, on one line; of a very long one the end."""
    line = one_line(str(path)[-_LONGEST_SHOWN:])
    return line if len(str(path)) <= _LONGEST_SHOWN else f"...{line}"


def _refusal(path: Path, error: Exception) -> str:
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        return f"There is no file {shown(path)}."
    if isinstance(error, PermissionError):
        return f"{shown(path)} may not be read: permission is denied."
    reason = getattr(error, "strerror", None) or str(error)
    return f"{shown(path)} cannot be read: {reason}."


def _place(data: bytes, at: int) -> str:
    """Return the row and the byte of it, both from 1."""
    before = data[:at].replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    start = before.rfind(b"\n") + 1
    return f"row {before.count(bytes([10])) + 1}, byte {len(before) - start + 1}"
