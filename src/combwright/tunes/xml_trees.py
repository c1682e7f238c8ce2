"""XML from a stranger, read without harm: nothing fetched, no entities, sizes bounded."""

from typing import Final
from xml.etree import ElementTree
from xml.parsers import expat

from combwright.files.results import one_line
from combwright.tunes.tune import BadTune

_MOST_ELEMENTS: Final = 3_000_000
_DEEPEST: Final = 60


def read_tree(data: bytes) -> ElementTree.Element:
    """Return the root of an XML document.

    Raises
    ------
    BadTune
        If it is no sound XML, declares entities of its own, or is too large or too deep.
    """
    builder = ElementTree.TreeBuilder()
    count = depth = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal count, depth
        count, depth = count + 1, depth + 1
        if count > _MOST_ELEMENTS or depth > _DEEPEST:
            raise BadTune(f"it has more than {_MOST_ELEMENTS:,} elements or {_DEEPEST} levels")
        builder.start(tag, attributes)

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(tag)

    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = builder.data
    parser.EntityDeclHandler = _refuse
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        raise BadTune(one_line(f"it is no sound XML: {error}")) from error
    except (ValueError, LookupError) as error:  # an encoding that does not exist
        raise BadTune(one_line(f"its encoding cannot be read: {error}")) from error
    return builder.close()


def _refuse(*_: object) -> None:
    raise BadTune("it declares entities of its own, which no music needs; save it anew")
