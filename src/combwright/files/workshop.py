"""workshop.toml: retuning and its cost, labels, paper and money; read and written."""

from decimal import Decimal
from pathlib import Path
from typing import Final, Literal

from combwright.allocation.workshop import LabelSheet, Retune, Weight, Workshop
from combwright.files.opening import read_text
from combwright.files.results import Read
from combwright.files.settings import MOST_MIB, Section, parse_settings, toml_text

MOST_CENTS: Final = 1200.0
PAPERS: Final[tuple[Literal["A4"], Literal["letter"]]] = ("A4", "letter")
LARGEST_PAGE_MM: Final = 400.0
MOST_LABEL_ROWS: Final = 50
MOST_LABEL_COLUMNS: Final = 20
LONGEST_CURRENCY: Final = 12


def read_workshop(path: Path | str) -> Read[Workshop]:
    """Read a workshop's numbers; what is left out keeps its default.

    A `free_cents` wider than a limit is odd and gives a warning, as an unknown key does.

    Raises
    ------
    BadFile
        If the file cannot be opened or is no TOML.
    BadTable
        If a value has the wrong type or is out of range; one line for each.
    """
    path = Path(path)
    return parse_workshop(read_text(path, most_mib=MOST_MIB), name=path.name)


def parse_workshop(text: str, *, name: str) -> Read[Workshop]:
    """Read a workshop's numbers from a text, as `read_workshop` does from a file of that name.

    Raises
    ------
    BadFile, BadTable
        As `read_workshop`.
    """
    settings = parse_settings(text, name=name)
    workshop = Workshop(
        retune=_retune(settings.section("retune")),
        weight=_weight(settings.section("weight")),
        labels=_labels(settings.section("labels")),
        paper=settings.section("paper").choice("size", PAPERS, "A4"),
        currency=_currency(settings.section("money")),
    )
    unknown = settings.finish()
    return Read(workshop, (*unknown, *_wide(workshop.retune, settings.problems.name)))


def workshop_toml(workshop: Workshop) -> str:
    """Write a workshop's numbers so that `read_workshop` reads the same ones again."""
    retune, weight, labels = workshop.retune, workshop.weight, workshop.labels
    return "\n".join(
        (
            "[retune]",
            f"raise_most_cents = {retune.raise_most_cents!r}",
            f"lower_most_cents = {retune.lower_most_cents!r}",
            f"free_cents = {retune.free_cents!r}",
            f"fixed = {_amount(retune.fixed)}",
            f"each_cent = {_amount(retune.each_cent)}",
            "",
            "[weight]",
            f"lower_most_cents = {weight.lower_most_cents!r}",
            f"fixed = {_amount(weight.fixed)}",
            f"each_cent = {_amount(weight.each_cent)}",
            "",
            "[labels]",
            f"rows = {labels.rows}",
            f"columns = {labels.columns}",
            f"top_mm = {labels.top_mm!r}",
            f"left_mm = {labels.left_mm!r}",
            f"gap_x_mm = {labels.gap_x_mm!r}",
            f"gap_y_mm = {labels.gap_y_mm!r}",
            "",
            "[paper]",
            f"size = {toml_text(workshop.paper)}",
            "",
            "[money]",
            f"currency = {toml_text(workshop.currency)}",
            "",
        )
    )


def _amount(value: Decimal) -> str:
    # Never with an exponent: TOML would read it, a person would not.
    return format(value, "f")


def _retune(section: Section) -> Retune:
    usual = Retune()
    return Retune(
        raise_most_cents=section.number("raise_most_cents", 0, MOST_CENTS, usual.raise_most_cents),
        lower_most_cents=section.number("lower_most_cents", 0, MOST_CENTS, usual.lower_most_cents),
        free_cents=section.number("free_cents", 0, MOST_CENTS, usual.free_cents),
        fixed=section.money("fixed", usual.fixed),
        each_cent=section.money("each_cent", usual.each_cent),
    )


def _weight(section: Section) -> Weight:
    usual = Weight()
    return Weight(
        lower_most_cents=section.number("lower_most_cents", 0, MOST_CENTS, usual.lower_most_cents),
        fixed=section.money("fixed", usual.fixed),
        each_cent=section.money("each_cent", usual.each_cent),
    )


def _labels(section: Section) -> LabelSheet:
    usual = LabelSheet()
    return LabelSheet(
        rows=section.whole("rows", 1, MOST_LABEL_ROWS, usual.rows),
        columns=section.whole("columns", 1, MOST_LABEL_COLUMNS, usual.columns),
        top_mm=section.number("top_mm", 0, LARGEST_PAGE_MM, usual.top_mm),
        left_mm=section.number("left_mm", 0, LARGEST_PAGE_MM, usual.left_mm),
        gap_x_mm=section.number("gap_x_mm", 0, LARGEST_PAGE_MM, usual.gap_x_mm),
        gap_y_mm=section.number("gap_y_mm", 0, LARGEST_PAGE_MM, usual.gap_y_mm),
    )


def _currency(section: Section) -> str:
    currency = section.text("currency", Workshop().currency, longest=LONGEST_CURRENCY).strip()
    if not currency:
        section.wrong("currency", "is empty; write a code or sign, as in EUR.")
    return currency


def _wide(retune: Retune, name: str) -> tuple[str, ...]:
    limits = {
        "raise_most_cents": retune.raise_most_cents,
        "lower_most_cents": retune.lower_most_cents,
    }
    return tuple(
        f"{name}: retune.free_cents, {retune.free_cents:g}, is wider than retune.{key}, {most:g}; "
        f"no reed is moved by more than {most:g} cents that way."
        for key, most in limits.items()
        if retune.free_cents > most
    )
