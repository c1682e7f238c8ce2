"""Settings files: TOML read key by key, every problem kept, keys that nobody asked for named.

A getter notes what is wrong and returns the default, or a stand-in where there is none, so that
reading can go on; `Settings.finish` then raises every problem at once.
"""

import json
import re
import tomllib
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, Final, TypeVar

from combwright.errors import CombwrightError
from combwright.files.cells import LONGEST_NAME, MOST_MONEY
from combwright.files.cells import money as money_of
from combwright.files.opening import read_text
from combwright.files.results import BadFile, Problems, one_line
from combwright.notes.names import Note, parse_note

S = TypeVar("S", bound=str)
MOST_MIB: Final = 1
LONGEST_PROSE: Final = 2_000
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_WORDS: Final = {
    str: "a text", bool: "true or false", int: "a whole number", Decimal: "a number",
    list: "a list", dict: "a section",
}  # fmt: skip


class Section:
    """One section of a settings file.

    Parameters
    ----------
    data : dict
        Its keys.
    place : str
        Its name, which begins its messages; empty for the top.
    problems : Problems
        Where they go.
    """

    def __init__(self, data: dict[str, Any], place: str, problems: Problems) -> None:
        self.data = data
        self.place = place
        self.problems = problems
        self.asked: set[str] = set()
        self.inner: list[Section] = []

    def wrong(self, key: str, text: str) -> None:
        """Note a problem of a key."""
        self.problems.add(f"{self._at(key)}: {text}")

    def has(self, key: str) -> bool:
        """Tell whether the key stands there."""
        return key in self.data

    def text(self, key: str, default: str | None = None, *, longest: int = 100) -> str:
        """Return a text of visible characters."""
        value = self._typed(key, (str,), default)
        if value is None:
            return ""
        if len(value) > longest or not value.isprintable():
            self.wrong(key, f"{value[:20]!r} must be one line of at most {longest} characters.")
        return str(value)

    def prose(self, key: str) -> str:
        """Return a text that may run over lines; each run of blanks and line ends is one blank."""
        value = " ".join(str(self._typed(key, (str,), "")).split())
        if len(value) > LONGEST_PROSE or not value.isprintable():
            self.wrong(key, f"must be visible text of at most {LONGEST_PROSE:,} characters.")
        return value

    def choice(self, key: str, choices: Sequence[S], default: S | None = None) -> S:
        """Return one of a few words, in any case."""
        value = self._typed(key, (str,), default)
        by_word = {word.lower(): word for word in choices}
        if value is None or value.lower() not in by_word:
            if value is not None:
                self.wrong(key, f"{value!r} is not known here; write {' or '.join(choices)}.")
            return default or choices[0]
        return by_word[value.lower()]

    def number(
        self,
        key: str,
        low: float,
        high: float,
        default: float | None = None,
        *,
        above: bool = False,
    ) -> float:
        """Return a number from `low` to `high`, both inclusive; with `above`, more than `low`."""
        value = self._typed(key, (Decimal, int), default)
        if value is None:
            return low
        fits = Decimal(value).is_finite() and low <= value <= high
        if not fits or (above and value == low):
            span = f"above {low:g} and up to {high:g}" if above else f"{low:g} to {high:g}"
            self.wrong(key, f"{_short(value)} is out of range; {span} is right.")
            return low
        return float(value) + 0.0

    def whole(self, key: str, low: int, high: int, default: int | None = None) -> int:
        """Return a whole number from `low` to `high`, both inclusive."""
        value = self._typed(key, (int,), default)
        if value is None:
            return low
        if not low <= value <= high:
            self.wrong(key, f"{_short(value)} is out of range; {low} to {high:,} is right.")
            return low
        return int(value)

    def money(self, key: str, default: Decimal) -> Decimal:
        """Return an amount of 0 or more, to six decimals."""
        value = self._typed(key, (Decimal, int), default)
        if value is None or not Decimal(value).is_finite() or not 0 <= value <= MOST_MONEY:
            if value is not None:
                self.wrong(key, f"{_short(value)} is out of range; 0 to {MOST_MONEY:,} is right.")
            return default
        return money_of(str(value))

    def as_note(self, key: str, written: str) -> Note | None:
        """Read a note's text; what is wrong with it is noted under the key."""
        try:
            return parse_note(written)
        except CombwrightError as error:
            self.wrong(key, str(error))
            return None

    def items(self, key: str, kinds: tuple[type, ...]) -> list[Any]:
        """Return a list whose items are all of some types; empty where there is none."""
        value = self._typed(key, (list,), [])
        wrong = [item for item in value or [] if not _is(item, kinds)]
        if wrong:
            self.wrong(key, f"{_short(wrong[0])} is no item of this list; {_wanted(kinds)} is.")
        return [item for item in value or [] if _is(item, kinds)]

    def section(self, key: str) -> "Section":
        """Return an inner section, an empty one where there is none."""
        value = self._typed(key, (dict,), {})
        return self._enter(value or {}, key)

    def sections(self, key: str) -> "list[Section]":
        """Return the sections of a list of them, written `[[key]]`."""
        found = self.items(key, (dict,))
        return [self._enter(each, f"{key} {n}") for n, each in enumerate(found, start=1)]

    def names(self) -> list[str]:
        """Return every key, for a section whose keys are names; all count as asked for."""
        self.asked |= set(self.data)
        for key in self.data:
            if not key.strip() or len(key) > LONGEST_NAME or not key.isprintable():
                self.wrong(key, f"is no name; write 1 to {LONGEST_NAME} visible characters.")
        return list(self.data)

    def unasked(self) -> list[str]:
        """Return the keys that no getter asked for, those of inner sections too."""
        own = [self._at(key) for key in self.data if key not in self.asked]
        return own + [key for each in self.inner for key in each.unasked()]

    def _enter(self, data: dict[str, Any], key: str) -> "Section":
        inner = Section(data, self._at(key), self.problems)
        self.inner.append(inner)
        return inner

    def _at(self, key: str) -> str:
        shown = one_line(key)
        return f"{self.place}.{shown}" if self.place else shown

    def _typed(self, key: str, kinds: tuple[type, ...], default: Any) -> Any:
        """Return a value of one of some types; the default, or None, where there is none."""
        self.asked.add(key)
        if key not in self.data:
            if default is None:
                self.wrong(key, f"is missing; give {_wanted(kinds)}.")
            return default
        value = self.data[key]
        if not _is(value, kinds):
            self.wrong(key, f"{_short(value)} is not what is wanted here; give {_wanted(kinds)}.")
            return default
        return value


class Settings(Section):
    """A whole settings file."""

    def finish(self) -> tuple[str, ...]:
        """Return a warning that names the keys nobody asked for.

        Raises
        ------
        BadTable
            If any problem was found, one line for each.
        """
        self.problems.finish()
        unknown = self.unasked()
        if not unknown:
            return ()
        return (one_line(f"{self.problems.name}: not known and left out: {', '.join(unknown)}."),)


def read_settings(path: Path | str) -> Settings:
    """Read a TOML file; numbers with a decimal point come as Decimal.

    Raises
    ------
    BadFile
        If it cannot be opened, is larger than 1 MiB, is not UTF-8 or no TOML.
    """
    path = Path(path)
    return parse_settings(read_text(path, most_mib=MOST_MIB), name=path.name)


def parse_settings(text: str, *, name: str) -> Settings:
    """Read settings from a text, as `read_settings` does from a file.

    Raises
    ------
    BadFile
        If it is no TOML.
    """
    shown = one_line(name)
    try:
        return Settings(tomllib.loads(text, parse_float=Decimal), "", Problems(shown))
    except (ValueError, ArithmeticError) as error:
        raise BadFile(one_line(f"{shown} is no sound TOML: {error}.")) from error
    except RecursionError as error:
        raise BadFile(f"{shown} is no sound TOML: its lists are nested too deeply.") from error


def toml_text(text: str) -> str:
    """Write a text as TOML does, in quotation marks."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_key(key: str) -> str:
    """Write a key as TOML does, in quotation marks where it needs them."""
    return key if _BARE.fullmatch(key) else toml_text(key)


def _is(value: Any, kinds: tuple[type, ...]) -> bool:
    # bool is a kind of int for Python, but true is no number to a maker.
    return isinstance(value, kinds) and (bool in kinds or not isinstance(value, bool))


def _wanted(kinds: tuple[type, ...]) -> str:
    return _WORDS[kinds[0]]


def _short(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    shown = repr(value) if isinstance(value, str) else str(value)
    return one_line(shown)[:40]
