"""Opening what a player hands over: a file, a folder, or a zipped folder, told by what is in it.

A file that cannot be read is a line among the faults; the others are read.
"""

import re
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
    if data.startswith(b"PK\x03\x04") or data.startswith(b"PK\x05\x06"):
        return _zipped(data, name)
    if data.startswith(b"MThd"):
        return read_midi(data, name)
    start = data[:400].lstrip(b"\xef\xbb\xbf \t\r\n")
    if start.startswith(b"<") or start.replace(b"\0", b"")[2:].startswith(b"<?xml"):
        return read_musicxml(data, name)
    return _text(data, name)


def _of_path(path: Path) -> Reading:
    if path.is_dir():
        files = sorted(each for each in path.rglob("*") if each.suffix.lower() in _MUSIC)
        if not files:
            return Reading(faults=(one_line(f"{path.name}: no music in this folder."),))
        return _together(_of_path(each) for each in files[:_MOST_FILES] if each.is_file())
    try:
        return read_tune_bytes(read_bytes(path, most_mib=MOST_MIB), path.name)
    except CombwrightError as error:
        return Reading(faults=(str(error),))


def _text(data: bytes, name: str) -> Reading:
    """Read ABC: UTF-8, or UTF-16 with its mark, or else as Windows saved it before them."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = data.decode("utf-16", errors="replace")
        return read_abc(text, name)
    if b"\0" in data:
        return Reading(faults=(f"{name}: this is no ABC, MusicXML or MIDI, nor a zipped folder.",))
    try:
        return read_abc(data.decode("utf-8-sig"), name)
    except UnicodeDecodeError:
        return read_abc(data.decode("cp1252", errors="replace"), name)


def _zipped(data: bytes, name: str) -> Reading:
    try:
        with ZipFile(BytesIO(data)) as folder:
            members = [each for each in folder.infolist() if not each.is_dir()]
            if any(each.filename == _CONTAINER for each in members):
                return _mxl(folder, name)
            return _together(_members(folder, members, name))
    except BadTune as error:
        return Reading(faults=(one_line(f"{name}: {error}."),))
    except (BadZipFile, OSError, ValueError, NotImplementedError, zlib.error) as error:
        return Reading(faults=(one_line(f"{name}: the zipped folder is damaged: {error}."),))


def _members(folder: ZipFile, members: list[ZipInfo], name: str) -> Iterator[Reading]:
    left = MOST_MIB * _MIB
    found = [each for each in members if _is_music(each.filename)]
    if not found:
        yield Reading(faults=(f"{name}: no music in this zipped folder.",))
    for member in found[:_MOST_FILES]:
        shown = one_line(f"{name}/{member.filename}")
        try:
            data = _unpacked(folder, member, left)
        except BadTune as error:
            yield Reading(faults=(f"{shown}: {error}.",))
        except (BadZipFile, OSError, RuntimeError, ValueError, EOFError, zlib.error) as error:
            yield Reading(faults=(one_line(f"{shown}: it cannot be unpacked: {error}."),))
        else:
            left -= len(data)
            yield read_tune_bytes(data, shown)


def _is_music(name: str) -> bool:
    path = Path(name)
    hidden = path.name.startswith(".") or "__MACOSX" in path.parts
    return path.suffix.lower() in _MUSIC and not hidden


def _mxl(folder: ZipFile, name: str) -> Reading:
    """Read the document that the container of a compressed MusicXML file names first."""
    container = read_tree(_unpacked(folder, folder.getinfo(_CONTAINER), _MIB))
    roots = (
        each.get("full-path") for each in container.iter() if re.search(r"rootfile$", each.tag)
    )
    path = next(filter(None, roots), None)
    if path is None or path not in folder.namelist():
        raise BadTune("its container names no document that is there")
    return read_musicxml(_unpacked(folder, folder.getinfo(path), MOST_MIB * _MIB), name)


def _unpacked(folder: ZipFile, member: ZipInfo, most: int) -> bytes:
    if member.flag_bits & 1:
        raise BadTune("it is locked with a password")
    with folder.open(member) as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise BadTune(f"unpacked it has more than {most / _MIB:,.0f} MiB and was not read")
    return data


def _together(readings: Iterable[Reading]) -> Reading:
    found = list(readings)
    tunes = tuple(tune for each in found for tune in each.tunes)
    return Reading(tunes, tuple(fault for each in found for fault in each.faults))
