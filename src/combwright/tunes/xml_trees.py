"""XML from a stranger, read without harm: nothing fetched, no entities, sizes bounded.

The bounds are looked for in the bytes before they are parsed, so that the parser need not call
back for each element. Expat reads no encoding in which signs of ASCII are other bytes than in
ASCII, but for UTF-16, where each has a zero byte beside it.
"""

from typing import Final
from xml.etree import ElementTree

from combwright.files.results import one_line
from combwright.tunes.tune import BadTune

_MOST_ELEMENTS: Final = 1_000_000


def read_tree(data: bytes) -> ElementTree.Element:
    """Return the root of an XML document.

    Raises
    ------
    BadTune
        If it is no sound XML, declares entities of its own, or has too many elements.
    """
    if data.count(b"<") - data.count(b"</") > _MOST_ELEMENTS:
        raise BadTune(f"it has more than {_MOST_ELEMENTS:,} elements")
    if b"<!ENTITY" in data or b"<!ENTITY" in data.replace(b"\0", b""):
        raise BadTune("it declares entities of its own, which no music needs; save it anew")
    parser = ElementTree.XMLParser()
    try:
        parser.feed(data)
        root = parser.close()
    except ElementTree.ParseError as error:
        raise BadTune(one_line(f"it is no sound XML: {error}")) from error
    except (ValueError, LookupError) as error:  # an encoding that does not exist
        raise BadTune(one_line(f"its encoding cannot be read: {error}")) from error
    assert isinstance(root, ElementTree.Element)
    return root
