"""The OpenAPI document: written by the library from the code, finished here.

What the library cannot know is added: the problems that every operation may answer with, the scope
it needs, and the headers of answers. [openapi] says what each part means.
"""

import json
from collections.abc import Iterable
from functools import cache
from typing import Any, Final

from combwright.shop.api.edge import PREFIX
from combwright.shop.api.interface import api
from combwright.shop.api.once import REPLAYED
from combwright.shop.api.operations import SCOPES
from combwright.shop.api.problems import KINDS, MEDIA_TYPE

Json = dict[str, Any]
SCHEME: Final = "token"
_ALWAYS: Final = (400, 401, 403, 406, 422, 429, 500, 503)
_HEADERS: Final[dict[int, Json]] = {
    401: {"WWW-Authenticate": {"schema": {"type": "string"}, "required": True}},
    429: {"Retry-After": {"schema": {"type": "integer", "minimum": 1}, "required": True}},
    503: {"Retry-After": {"schema": {"type": "integer", "minimum": 1}}},
}
_FAULT: Final[Json] = {
    "type": "object",
    "properties": {
        "detail": {"type": "string"},
        "pointer": {"type": "string", "description": "The place in the body (RFC 6901)."},
        "parameter": {"type": "string", "description": "The part of the address."},
        "header": {"type": "string"},
    },
    "required": ["detail"],
}
_PROBLEM: Final[Json] = {
    "type": "object",
    "description": "What went wrong (RFC 9457).",
    "properties": {
        "type": {"type": "string", "format": "uri-reference", "description": "Its explanation."},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": {"type": "string", "description": "One line that says what is wrong."},
        "instance": {"type": "string", "format": "uri", "description": "Its name in our log."},
        "errors": {"type": "array", "items": {"$ref": "#/components/schemas/Fault"}},
    },
    "required": ["type", "title", "status", "detail", "instance"],
}


@cache
def openapi() -> Json:
    """Return the document as plain JSON; take care not to change it."""
    told: Json = json.loads(json.dumps(api.get_openapi_schema(path_prefix=PREFIX)))
    told["servers"] = [{"url": "/"}]
    parts = told["components"]
    parts["securitySchemes"] = {SCHEME: _scheme(parts["securitySchemes"])}
    parts["schemas"] |= {"Problem": _PROBLEM, "Fault": _FAULT}
    parts["responses"] = {f"Problem{status}": _answer(status) for status in _statuses()}
    for operations in told["paths"].values():
        for operation in operations.values():
            _finish(operation)
    return told


def _scheme(schemes: Json) -> Json:
    (only,) = schemes.values()
    return {key: value for key, value in only.items() if value}


def _statuses() -> Iterable[int]:
    return sorted({kind.status for kind in KINDS})


def _answer(status: int) -> Json:
    of_it = [f"{kind.title}: {kind.about}" for kind in KINDS if kind.status == status]
    told: Json = {
        "description": " ".join(of_it),
        "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }
    return told | ({"headers": _HEADERS[status]} if status in _HEADERS else {})


def _finish(operation: Json) -> None:
    operation["security"] = [{SCHEME: operation.pop(SCOPES)}]
    for parameter in operation["parameters"]:
        _drop_null(parameter)
    statuses = set(_ALWAYS)
    where = {parameter["in"] for parameter in operation["parameters"]}
    if "path" in where:
        statuses.add(404)
    if "header" in where:
        statuses.add(409)
        for answer in operation["responses"].values():
            text = "There, and true, where the answer is one that was given before."
            header = {"schema": {"type": "string", "const": "true"}, "description": text}
            answer["headers"] = {REPLAYED: header}
    if "requestBody" in operation:
        statuses |= {413, 415}
    for status in sorted(statuses):
        reference = {"$ref": f"#/components/responses/Problem{status}"}
        operation["responses"][str(status)] = reference


def _drop_null(parameter: Json) -> None:
    """In an address there is no null: what is not asked is left out."""
    schema = parameter["schema"]
    choices = [each for each in schema.pop("anyOf", []) if each.get("type") != "null"]
    if choices:
        (only,) = choices
        schema |= only
