"""What is wrong in a request, fault by fault: its place, the value, and what would be right."""

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from ninja.errors import ValidationErrorContext

from combwright.shop.api.words import MEANING

Fault = dict[str, str]
_SHOWN: Final = 60


def faults_of(contexts: Sequence[ValidationErrorContext[Any]]) -> list[Fault]:
    """Return every fault of a request."""
    return list(_each(contexts))


def _each(contexts: Sequence[ValidationErrorContext[Any]]) -> Iterator[Fault]:
    for context in contexts:
        source = context.model.__ninja_param_source__
        names = context.model.__ninja_flatten_map_reverse__
        for error in context.pydantic_validation_error.errors(include_url=False):
            place = names.get(error["loc"], error["loc"])
            yield _placed(source, place) | {"detail": _words(error)}


def _placed(source: str, place: Sequence[str | int]) -> Fault:
    if source == "body":
        # The first is the name of the function's parameter.
        return {"pointer": "#" + "".join("/" + _escaped(str(each)) for each in place[1:])}
    name = "header" if source == "header" else "parameter"
    return {name: str(place[-1])}


def _escaped(name: str) -> str:
    """Escape a name for a JSON pointer [rfc6901]."""
    return name.replace("~", "~0").replace("/", "~1")


def in_one_line(faults: Sequence[Mapping[str, str]]) -> str:
    """Return the first fault, and how many more there are."""
    first = faults[0]
    place = first.get("parameter") or first.get("pointer", "#").removeprefix("#/")
    said = f"{place}: {first['detail']}" if place != "#" else first["detail"]
    more = len(faults) - 1
    if not more:
        return said
    return said + " " + ngettext("(and %d more fault)", "(and %d more faults)", more) % more


def _words(error: Mapping[str, Any]) -> str:
    """Say in one line what is wrong with a value."""
    facts = {"given": _given(error.get("input")), **error.get("ctx", {})}
    return (_TEXTS.get(error["type"]) or _otherwise)(facts | {"msg": error["msg"]})


def _given(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"


def _pattern(facts: Mapping[str, Any]) -> str:
    wanted = MEANING.get(facts["pattern"], facts["pattern"])
    return _("%(given)s is not %(wanted)s.") % {"given": facts["given"], "wanted": wanted}


def _otherwise(facts: Mapping[str, Any]) -> str:
    return _("%(given)s will not do: %(msg)s.") % facts


def _kind(wanted: Callable[[], str]) -> Callable[[Mapping[str, Any]], str]:
    return lambda facts: (
        _("%(given)s will not do; give %(wanted)s.")
        % {
            "given": facts["given"],
            "wanted": wanted(),
        }
    )


_TEXTS: Final[Mapping[str, Callable[[Mapping[str, Any]], str]]] = {
    "missing": lambda _facts: _("is missing."),
    "extra_forbidden": lambda _facts: _("is not known here; is it mistyped?"),
    "greater_than_equal": lambda f: _("%(given)s is too small; %(ge)s is the least.") % f,
    "less_than_equal": lambda f: _("%(given)s is too large; %(le)s is the most.") % f,
    "string_too_short": lambda f: (
        _("%(given)s is too short; it needs %(min_length)d characters or more.") % f
    ),
    "string_too_long": lambda f: (
        _("%(given)s is too long; %(max_length)d characters are the most.") % f
    ),
    "string_pattern_mismatch": _pattern,
    "too_short": lambda f: _("The list is too short; it needs %(min_length)d or more.") % f,
    "too_long": lambda f: _("The list is too long; %(max_length)d are the most.") % f,
    "literal_error": lambda f: _("%(given)s will not do; give one of %(expected)s.") % f,
    "int_type": _kind(lambda: _("a whole number")),
    "int_from_float": _kind(lambda: _("a whole number")),
    "float_type": _kind(lambda: _("a number")),
    "bool_type": _kind(lambda: _("true or false")),
    "string_type": _kind(lambda: _("a text")),
    "string_unicode": lambda _facts: _("is a text with half a character in it."),
    "list_type": _kind(lambda: _("a list")),
    "model_type": _kind(lambda: _("an object with fields")),
    "model_attributes_type": _kind(lambda: _("an object with fields")),
    "date_type": _kind(lambda: _("a day, as 2026-05-04")),
    "datetime_type": _kind(lambda: _("a time, as 2026-05-04T09:12:00Z")),
    "finite_number": _kind(lambda: _("a number")),
}
