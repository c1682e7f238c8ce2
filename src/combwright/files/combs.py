"""comb.toml: chambers, decks and parts of a comb; read and written."""

from pathlib import Path
from types import MappingProxyType
from typing import Final

from combwright.comb.combs import MOUNT_RULES, Chamber, Comb, DeckRule
from combwright.comb.seats import MOST_HOLES
from combwright.files.opening import read_text
from combwright.files.results import Read, one_line
from combwright.files.settings import MOST_MIB, Section, parse_settings, toml_key, toml_text

LONGEST_CHAMBER_MM: Final = 80.0
WIDEST_MM: Final = 30.0
MOST_MARGIN_MM: Final = 10.0
MOST_PARTS: Final = 1_000


def read_comb(path: Path | str) -> Read[Comb]:
    """Read a comb; without a `title` it is called as its file is.

    Raises
    ------
    BadFile
        If the file cannot be opened or is no TOML.
    BadTable
        If a measure is missing, of the wrong type or out of range, or there are not 1 to 16
        chambers; one line for each.
    """
    path = Path(path)
    return parse_comb(read_text(path, most_mib=MOST_MIB), name=path.name)


def parse_comb(text: str, *, name: str) -> Read[Comb]:
    """Read a comb from a text, as `read_comb` does from a file of that name.

    Raises
    ------
    BadFile, BadTable
        As `read_comb`.
    """
    settings = parse_settings(text, name=name)
    title = settings.text("title", "") or one_line(Path(name).stem)
    margin_mm = settings.number("end_margin_mm", 0, MOST_MARGIN_MM, 0.0)
    upper, lower = _deck(settings.section("upper")), _deck(settings.section("lower"))
    chambers = [_chamber(each, margin_mm) for each in settings.sections("chamber")]
    if not 1 <= len(chambers) <= MOST_HOLES:
        settings.wrong(
            "chamber",
            f"there are {len(chambers)} of them; write 1 to {MOST_HOLES} sections [[chamber]].",
        )
    inner = settings.section("parts")
    parts = {name: inner.whole(name, 0, MOST_PARTS) for name in inner.names()}
    unknown = settings.finish()
    comb = Comb(title, tuple(chambers), margin_mm, upper, lower, MappingProxyType(parts))
    return Read(comb, unknown)


def comb_toml(comb: Comb) -> str:
    """Write a comb so that `read_comb` reads the same one again."""
    lines = [
        f"title = {toml_text(comb.title)}",
        f"end_margin_mm = {comb.end_margin_mm!r}",
        *_deck_lines("upper", comb.upper),
        *_deck_lines("lower", comb.lower),
    ]
    if comb.parts:
        lines += ["", "[parts]", *(f"{toml_key(k)} = {n}" for k, n in comb.parts.items())]
    for hole, each in enumerate(comb.chambers, start=1):
        lines += [
            "",
            f"[[chamber]]  # hole {hole}",
            f"length_mm = {each.length_mm!r}",
            f"width_mm = {each.width_mm!r}",
            f"depth_mm = {each.depth_mm!r}",
        ]
    return "\n".join(lines) + "\n"


def _deck_lines(deck: str, rule: DeckRule) -> list[str]:
    return [
        "",
        f"[{deck}]",
        f"mount = {toml_text(rule.mount)}",
        f"cover_clear_mm = {rule.cover_clear_mm!r}",
    ]


def _deck(section: Section) -> DeckRule:
    usual = DeckRule()
    return DeckRule(
        mount=section.choice("mount", MOUNT_RULES, usual.mount),
        cover_clear_mm=section.number("cover_clear_mm", 0, WIDEST_MM, usual.cover_clear_mm),
    )


def _chamber(section: Section, margin_mm: float) -> Chamber:
    chamber = Chamber(
        length_mm=section.number("length_mm", 0, LONGEST_CHAMBER_MM, above=True),
        width_mm=section.number("width_mm", 0, WIDEST_MM, above=True),
        depth_mm=section.number("depth_mm", 0, WIDEST_MM, above=True),
    )
    if 0 < chamber.length_mm <= margin_mm:
        section.wrong(
            "length_mm",
            f"{chamber.length_mm:g} leaves no room beside end_margin_mm, {margin_mm:g}; "
            "a chamber is longer than its margin.",
        )
    return chamber
