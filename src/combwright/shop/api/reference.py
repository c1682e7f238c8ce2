"""The page of the API: the document, told for people, with lines to try."""

import json
import shlex
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import quote, urlencode

from django.utils.translation import gettext as _

from combwright.shop.api.document import SCHEME, Json, openapi
from combwright.shop.api.operations import KEY_HEADER
from combwright.shop.api.words import MEANING

#: What stands in the lines to try.
_EXAMPLES: Final[Mapping[str, str]] = {
    "bin": "A-01-1", "batch": "b7", "entry": "1", "layout": "standard",
    "item": "SET-A", "key": "C", "place": "A-07", "order": "W-0001", "plan": "1",
    "serial": "00001",
}  # fmt: skip
_DEEPEST: Final = 3


@dataclass(frozen=True, slots=True)
class Part:
    """One value that is sent or told: its name, what it may be, and what it means."""

    name: str
    words: str
    required: bool
    about: str


@dataclass(frozen=True, slots=True)
class Operation:
    """One thing that a program can ask."""

    name: str
    method: str
    path: str
    summary: str
    about: str
    scope: str
    asked: tuple[Part, ...]
    sent: tuple[Part, ...]
    told: tuple[Part, ...]
    status: str
    problems: tuple[str, ...]
    curl: str


def groups(base: str) -> dict[str, list[Operation]]:
    """Return the operations by what they are about.

    Parameters
    ----------
    base : str
        What the lines to try begin their addresses with, as `http://127.0.0.1:8000`.
    """
    document, found = openapi(), dict[str, list[Operation]]()
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            told = _operation(document, method, path, operation, base)
            found.setdefault(operation["tags"][0], []).append(told)
    return found


def _operation(document: Json, method: str, path: str, told: Json, base: str) -> Operation:
    status, answer = next((s, a) for s, a in told["responses"].items() if s < "300")
    scopes = told["security"][0][SCHEME]
    body = _schema(told.get("requestBody"))
    first, _blank, rest = told["description"].partition("\n\n")
    return Operation(
        name=told["operationId"],
        method=method.upper(),
        path=path,
        summary=first,
        about=rest,
        scope=scopes[0] if scopes else "",
        asked=tuple(_asked(told["parameters"])),
        sent=tuple(_parts(document, body)) if body else (),
        told=tuple(_parts(document, _schema(answer) or {})),
        status=status,
        problems=tuple(s for s in told["responses"] if s >= "400"),
        curl=_curl(method, path, told, _example(document, body), base),
    )


def _schema(holder: Json | None) -> Json | None:
    if holder is None:
        return None
    schema: Json = next(iter(holder["content"].values()))["schema"]
    return schema


def _asked(parameters: list[Json]) -> Iterator[Part]:
    for each in parameters:
        words = words_of(each["schema"])
        yield Part(each["name"], words, each["required"], each.get("description", ""))


def _parts(document: Json, schema: Json, before: str = "", depth: int = 0) -> Iterator[Part]:
    """Give the fields of an object, those of the objects in its lists after them."""
    schema = _followed(document, schema)
    wanted = schema.get("required", ())
    for name, field in schema.get("properties", {}).items():
        about = field.get("description", "")
        yield Part(before + name, words_of(field), name in wanted, about)
        inner = next((e["items"] for e in (field, *field.get("anyOf", ())) if "items" in e), None)
        if inner is not None and "$ref" in inner and depth < _DEEPEST:
            yield from _parts(document, inner, f"{before}{name}[].", depth + 1)


def _followed(document: Json, schema: Json) -> Json:
    if "$ref" not in schema:
        return schema
    found: Json = document["components"]["schemas"][schema["$ref"].rsplit("/", 1)[-1]]
    return found


def words_of(schema: Json) -> str:
    """Say what a value may be."""
    if "anyOf" in schema:
        return _(" or ").join(words_of(each) for each in schema["anyOf"])
    if "enum" in schema:
        return _("one of %s") % ", ".join(str(each) for each in schema["enum"])
    said = _of_kind(schema)
    default = schema.get("default", "")
    return said if default == "" else said + "; " + _("left out: %s") % json.dumps(default)


def _of_kind(schema: Json) -> str:
    match schema.get("type"):
        case "integer":
            return _("whole number") + _bounds(schema)
        case "number":
            return _("number") + _bounds(schema)
        case "string":
            return _text(schema)
        case "boolean":
            return _("true or false")
        case "array":
            return _list(schema)
        case "null":
            return "null"
    return _("object")


def _bounds(schema: Json) -> str:
    least, most = schema.get("minimum"), schema.get("maximum")
    if least is not None and most is not None and most < 2**53 - 1:
        return _(", %(least)s to %(most)s") % {"least": least, "most": most}
    return _(", %s or more") % least if least is not None else ""


def _text(schema: Json) -> str:
    if schema.get("format") == "date-time":
        return _("time")
    said = MEANING.get(schema.get("pattern", ""), _("text"))
    most = schema.get("maxLength")
    return said + (_(", at most %d characters") % most if most else "")


def _list(schema: Json) -> str:
    inner = schema["items"]
    what = _("objects") if "$ref" in inner else words_of(inner)
    most = schema.get("maxItems")
    return _("list of %s") % what + (_(", at most %d") % most if most else "")


def _example(document: Json, body: Json | None) -> Any:
    return None if body is None else _followed(document, body)["examples"][0]


def _curl(method: str, path: str, told: Json, example: Any, base: str) -> str:
    for each in told["parameters"]:
        if each["in"] == "path":
            path = path.replace("{" + each["name"] + "}", quote(_EXAMPLES[each["name"]]))
    questions = {
        each["name"]: _EXAMPLES[each["name"]]
        for each in told["parameters"]
        if each["in"] == "query" and each["required"]
    }
    address = base + path + ("?" + urlencode(questions) if questions else "")
    lines = ['curl -H "Authorization: Bearer $TOKEN"']
    if method == "post":
        lines.append(f'-H "{KEY_HEADER}: $(uuidgen)"')
    if example is not None:
        lines += ['-H "Content-Type: application/json"', f"-d {shlex.quote(json.dumps(example))}"]
    elif method == "post":
        lines.append("-X POST")
    return " \\\n  ".join([*lines, shlex.quote(address)])
