"""What printed sheets say, read back from the PDF files."""

import functools
import re

import pypdf
import pypdfium2
import zxingcpp

_ROW = re.compile(
    r"(?:(?P<hole>\d+) )?(?P<deck>upper|lower) (?P<breath>blow|draw) (?P<bin>\S+) (?P<batch>\S+) "
    r"(?P<mount>front|rear) (?P<facing>in|out) (?P<side>up|down) (?P<note>[A-G]#?\d) "
    r"(?P<hertz>\d+\.\d\d) (?P<cents>\S+) (?P<retune>\S+) (?P<how>.+)"
)
_KIT = re.compile(
    r"(?P<for>\d+ (?:blow|draw|upper|lower)\S*) (?P<bin>\S+) (?P<batch>\S+) (?P<mount>front|rear) "
    r"(?P<note>[A-G]#?\d) (?P<hertz>\d+\.\d\d) (?P<cents>\S+) (?P<retune>\S+) (?P<how>.+)"
)
_BIN = re.compile(r"[A-Z]-\d\d-\d\d")


@functools.cache
def lines_of(path):
    """Return the lines of all pages of a PDF, which no test changes."""
    pages = pypdf.PdfReader(path).pages
    return [" ".join(line.split()) for page in pages for line in page.extract_text().splitlines()]


def codes_of(path, *, dpi=110):
    """Return what the QR codes on each page hold."""
    with pypdfium2.PdfDocument(path) as document:
        pictures = [page.render(scale=dpi / 72, grayscale=True).to_pil() for page in document]
    return [[code.text for code in zxingcpp.read_barcodes(picture)] for picture in pictures]


def seat_rows(path):
    """Return the rows of a build sheet's tables of seats, each with its hole."""
    hole, found = 0, []
    for line in lines_of(path):
        row = _ROW.fullmatch(line)
        if row:
            hole = int(row["hole"] or hole)
            found.append(row.groupdict() | {"hole": hole})
    return found


def kit_rows(path):
    """Return the rows of a build sheet's tables of plates that go along."""
    return [row.groupdict() for row in map(_KIT.fullmatch, lines_of(path)) if row]


def pick_rows(path):
    """Return the bins of a pick list, in its order: how many to take, for whom, and so far."""
    rows = []
    for line in lines_of(path):
        if line == "Parts":
            break
        if _BIN.fullmatch(line):
            rows.append({"bin": line, "text": ""})
        elif rows and not line.startswith(("Pick list", "bin plate", "Aisle")):
            rows[-1]["text"] += f" {line}"
    return [_pick(row["bin"], row["text"]) for row in rows]


def _pick(code, text):
    walk, note, rest = text.split(maxsplit=2)
    take, uses, so_far = re.search(r" mm (\d+) (W-.*) (\d+)$", rest).groups()
    return {
        "bin": code, "walk": walk, "note": note, "take": int(take), "uses": uses,
        "so_far": int(so_far),
    }  # fmt: skip
