"""Opening what a player hands over: a file, a folder, or a zipped folder, told by what is in it.

A file that cannot be read is a line among the faults; the others are read.
"""

import lzma
import os
import re
import struct
import zlib
from collections.abc import Iterable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Final
from zipfile import BadZipFile, ZipFile, ZipInfo

from combwright.errors import CombwrightError
from combwright.files.opening import read_bytes
from combwright.files.results import one_line
from combwright.tunes.abc_tunes import read_abc
from combwright.tunes.midi_files import read_midi
from combwright.tunes.musicxml import read_musicxml
from combwright.tunes.tune import BadTune, Reading
from combwright.tunes.xml_trees import read_tree

MOST_MIB: Final = 64
_MIB: Final = 2**20
_MOST_FILES: Final = 20_000
_MUSIC: Final = {".abc", ".xml", ".musicxml", ".mxl", ".mid", ".midi"}
_CONTAINER: Final = "META-INF/container.xml"
_ZIP: Final = (b"PK\x03\x04", b"PK\x05\x06")
#: What Python's zipfile raises at a damaged, locked or unusual folder.
_DAMAGE: Final = (
    BadZipFile, OSError, RuntimeError, ValueError, LookupError, EOFError, struct.error,
    zlib.error, lzma.LZMAError,
)  # fmt: skip


class _Room:
    """How many bytes may still be unpacked, over all that one file holds."""

    def __init__(self) -> None:
        self.left = MOST_MIB * _MIB


def read_tunes(paths: Iterable[Path]) -> Reading:
    """Read the tunes of files and folders, in the order in which they are named.

    Returns
    -------
    Reading
        Every tune that could be read, and one line for each that could not.
    """
    return _together(_of_path(path) for path in paths)


def read_tune_bytes(data: bytes, name: str) -> Reading:
    """Read the tunes of one file by what it holds, whatever its name."""
    name = one_line(name)[-120:]
    if data.startswith(_ZIP):
        return _zipped(data, name)
    return _plain(data, name)


def _plain(data: bytes, name: str) -> Reading:
    """Read a file that is not zipped."""
    if not data.strip():
        return Reading(faults=(f"{name}: there is nothing in it.",))
    if data.startswith(b"MThd"):
        return read_midi(data, name)
    start = data[:400].lstrip(b"\xef\xbb\xbf \t\r\n")
    if start.startswith(b"<") or start.replace(b"\0", b"")[2:].startswith(b"<?xml"):
        return read_musicxml(data, name)
    return _text(data, name)


def _of_path(path: Path) -> Reading:
    if path.is_dir():
        files = sorted(each for each in _within(path) if _is_named_so(each, {*_MUSIC, ".zip"}))
        if not files:
            return Reading(faults=(one_line(f"{path.name}: no music in this folder."),))
        more = _left_over(one_line(path.name), len(files))
        return _together([*map(_of_path, files[:_MOST_FILES]), *more])
    try:
        return read_tune_bytes(read_bytes(path, most_mib=MOST_MIB), path.name)
    except CombwrightError as error:
        return Reading(faults=(str(error),))


def _within(folder: Path) -> Iterator[Path]:
    """Yield the files of a folder and those within it; what vanishes meanwhile is passed over."""
    for inner, _, names in os.walk(folder):
        yield from (Path(inner) / name for name in names)


def _text(data: bytes, name: str) -> Reading:
    """Read ABC: UTF-8, or UTF-16 with its mark, or else as Windows saved it before them."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return read_abc(data.decode("utf-16", errors="replace"), name)
    if data[1:4:2] == b"\0\0" or data[:3:2] == b"\0\0":
        wide = "utf-16-le" if data[1] == 0 else "utf-16-be"
        return read_abc(data.decode(wide, errors="replace"), name)
    if b"\0" in data:
        return Reading(faults=(f"{name}: this is no ABC, MusicXML or MIDI, nor a zipped folder.",))
    try:
        return read_abc(data.decode("utf-8-sig"), name)
    except UnicodeDecodeError:
        return read_abc(data.decode("cp1252", errors="replace"), name)


def _zipped(data: bytes, name: str) -> Reading:
    room = _Room()
    try:
        with ZipFile(BytesIO(data)) as folder:
            members = [each for each in folder.infolist() if not each.filename.endswith("/")]
            if any(each.filename == _CONTAINER for each in members):
                return _mxl(folder, name, room)
            return _together(_members(folder, members, name, room))
    except BadTune as error:
        return Reading(faults=(one_line(f"{name}: {error}."),))
    except _DAMAGE as error:
        return Reading(faults=(one_line(f"{name}: the zipped folder is damaged{_told(error)}."),))


def _members(folder: ZipFile, members: list[ZipInfo], name: str, room: _Room) -> Iterator[Reading]:
    found = [each for each in members if _is_named_so(Path(each.filename), {*_MUSIC, ".zip"})]
    if not found:
        yield Reading(faults=(f"{name}: no music in this zipped folder.",))
    for member in found[:_MOST_FILES]:
        shown = one_line(f"{name}/{member.filename}")[-240:]
        try:
            yield _member(_unpacked(folder, member, room), shown, room)
        except BadTune as error:
            yield Reading(faults=(one_line(f"{shown}: {error}."),))
        except _DAMAGE as error:
            yield Reading(faults=(one_line(f"{shown}: it cannot be unpacked{_told(error)}."),))
    yield from _left_over(name, len(found))


def _member(data: bytes, name: str, room: _Room) -> Reading:
    """Read what a zipped folder holds: a compressed score may be zipped itself, nothing else."""
    if not data.startswith(_ZIP):
        return _plain(data, name)
    with ZipFile(BytesIO(data)) as inner:
        if _CONTAINER not in inner.namelist():
            raise BadTune("a zipped folder within a zipped folder is not opened; unpack it first")
        return _mxl(inner, name, room)


def _is_named_so(path: Path, suffixes: set[str]) -> bool:
    hidden = path.name.startswith(".") or "__MACOSX" in path.parts
    return path.suffix.lower() in suffixes and not hidden


def _left_over(name: str, files: int) -> Iterator[Reading]:
    if files > _MOST_FILES:
        yield Reading(
            faults=(f"{name}: it holds {files:,} files; only the first {_MOST_FILES:,} are read.",)
        )


def _mxl(folder: ZipFile, name: str, room: _Room) -> Reading:
    """Read the document that the container of a compressed MusicXML file names first."""
    container = read_tree(_unpacked(folder, folder.getinfo(_CONTAINER), room))
    roots = (
        each.get("full-path") for each in container.iter() if re.search(r"rootfile$", each.tag)
    )
    path = next(filter(None, roots), None)
    if path is None or path not in folder.namelist():
        raise BadTune("its container names no document that is there")
    return read_musicxml(_unpacked(folder, folder.getinfo(path), room), name)


def _unpacked(folder: ZipFile, member: ZipInfo, room: _Room) -> bytes:
    if member.flag_bits & 1:
        raise BadTune("it is locked with a password")
    with folder.open(member) as file:
        data = file.read(room.left + 1)
    if len(data) > room.left:
        raise BadTune(f"with what is unpacked already it has more than {MOST_MIB} MiB")
    room.left -= len(data)
    return data


def _told(error: Exception) -> str:
    """Return what an error says, after a colon, if it says something."""
    return f": {error}" if str(error) else ""


def _together(readings: Iterable[Reading]) -> Reading:
    found = list(readings)
    tunes = tuple(tune for each in found for tune in each.tunes)
    return Reading(tunes, tuple(fault for each in found for fault in each.faults))
