"""Texts made fit for one line of a page and for every database."""


def one_line(text: str, most: int) -> str:
    """Return a text in one line of so many letters at most, of letters that can be stored."""
    # A file's name may hold halves of letters; PostgreSQL takes no zero byte.
    whole = text.encode("utf-8", "replace").decode("utf-8").replace("\0", " ")
    line = " ".join(whole.split())
    return line if len(line) <= most else line[: most - 1] + "…"
