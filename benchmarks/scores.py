"""MusicXML cut to what our reader and another both hear: its first part, without graces."""

from io import BytesIO
from xml.etree import ElementTree
from zipfile import ZipFile

import lytk

from combwright.tunes.midi_files import read_midi
from combwright.tunes.tune import Tune


def first_part(data: bytes) -> bytes:
    """Return a score, compressed or not, as the plain document of its first part."""
    root = parsed(data)
    parts = root.findall("part")
    for part in parts[1:]:
        root.remove(part)
    names = root.find("part-list")
    if names is None or not parts:
        return ElementTree.tostring(root)
    for name in list(names):
        if name.tag != "score-part" or name.get("id") != parts[0].get("id"):
            names.remove(name)
    for measure in parts[0].iter("measure"):
        _without_ornaments(measure)
    return ElementTree.tostring(root)


def parsed(data: bytes) -> ElementTree.Element:
    """Return the root of a score, compressed or not."""
    return ElementTree.fromstring(_document(data))


def _document(data: bytes) -> bytes:
    if not data.startswith(b"PK"):
        return data
    with ZipFile(BytesIO(data)) as folder:
        scores = [name for name in folder.namelist() if not name.startswith("META-INF")]
        return folder.read(next(name for name in scores if name.endswith((".xml", ".musicxml"))))


def _without_ornaments(measure: ElementTree.Element) -> None:
    for each in list(measure):
        grace = each.find("grace") is not None or each.find("cue") is not None
        if each.tag == "direction" or (each.tag == "note" and grace):
            measure.remove(each)
    for notations in measure.iter("notations"):
        for sign in list(notations):
            if sign.tag not in ("tied", "tuplet"):
                notations.remove(sign)


def by_lytk_score(data: bytes) -> Tune | None:
    """Read a score as lytk does; None where it gives up."""
    try:
        played = lytk.to_midi_bytes(lytk.from_musicxml_bytes(data))
    except lytk.LytkError:
        return None
    return next(iter(read_midi(played, "lytk").tunes), None)
