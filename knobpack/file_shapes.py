"""File shapes: plain data held against the schema of the files, before any word is built.

``file_schema.json`` is the JSON Schema that the words and their fields say
(:func:`knobpack.files.described.described`); a test holds the two together. What it says of keys,
lists, numbers and choices is looked up here and nowhere else; names, and whatever one value must be
because of another, the words refuse themselves. To import it takes next to no time: a file that
will not do is refused at once.
"""

from __future__ import annotations

import json
import os
from collections.abc import Collection, Iterable, Mapping
from functools import cache
from typing import Any, Final, TypeAlias

from knobpack.errors import MISSING, InputError, Reason
from knobpack.storage.strict_json import MOST_ITEMS, TOP, key_path
from knobpack.words.fields import check_choice, check_whole
from knobpack.words.names import near_to

Node: TypeAlias = Mapping[str, Any]
"""What a JSON Schema says of a value."""

VERSION: Final = 1
"""The version of the format that is written."""

_LEAVES: Final = {
    "string": ((str,), "give text"),
    "integer": ((int,), "give a whole number"),
    "number": ((int, float), "give a number"),
    "boolean": ((bool,), "give true or false"),
    "object": ((dict,), "give an object"),
}
"""What stands where the schema says so, and nothing else of it."""

_UNKNOWN: Final = Reason("this key is not known")

DEFINED: Final = {
    kind: f"{kind.title().replace('_', '')}File"
    for kind in ("setup", "request", "layout", "allocation", "show", "show_allocation")
}
"""What a file can hold that a verb takes, and what the schema calls its definition."""

SEALED: Final = {"answer": "AnswerFile", "answers": "AnswersFile", "graph": "GraphFile"}
"""What else it can hold that is read back, once its digest says that nothing was altered."""


@cache
def schema_text() -> str:
    """The JSON Schema of all files that are read back, as it stands in the package."""
    # pathlib would take its time to import.
    path = os.path.join(os.path.dirname(__file__), "file_schema.json")  # noqa: PTH118, PTH120
    with open(path, encoding="utf-8") as file:  # noqa: PTH123
        return file.read()


@cache
def _definitions() -> Mapping[str, Node]:
    found: Mapping[str, Node] = json.loads(schema_text())["$defs"]
    return found


def check_file(data: object, defined: Mapping[str, str] = DEFINED) -> str:
    """Refuse what is in no shape that a file can have.

    Args:
        data: dict, list, str, int, bool and None alone, as
            :func:`knobpack.storage.strict_json.parse` gives them.
        defined: what it may hold.

    Returns:
        What it is, as in :data:`DEFINED`.

    Raises:
        InputError: names the place of what will not do, such as ``voices[2].layer``.
    """
    if not isinstance(data, dict):
        raise InputError(TOP, data, "give an object")
    kind = _headed("", data, defined)
    check_shape(data, {"$ref": f"#/$defs/{defined[kind]}"}, _definitions())
    return kind


def check_word(word: str, data: object, where: str = "") -> None:
    """Refuse what is not in the shape of a word that has a file of its own: ``Request``.

    Raises:
        InputError: as :func:`check_file`; places are named from ``where`` on.
    """
    check_shape(data, {"$ref": f"#/$defs/{word}File"}, _definitions(), where)


def check_field(word: str, field: str, data: object, where: str) -> None:
    """Refuse a number, a choice, or yes or no, that a field of a word cannot be.

    Args:
        word: what the schema calls the word: ``Knob``.
        field: the field.
        data: what is said of it.
        where: the path of the place where it stands.

    Raises:
        InputError: it will not do.
    """
    node = _definitions()[word]["properties"][field]
    if "type" in node and "array" not in node["type"]:
        _check_leaf(data, node, where)


def check_shape(data: object, node: Node, definitions: Mapping[str, Node], where: str = "") -> None:
    """Refuse what is not in the shape that a schema describes.

    Args:
        data: what stands in a file.
        node: what the schema says of it.
        definitions: what the schema says of whatever it refers to.
        where: the path of the place where it stands.

    Raises:
        InputError: names the place.
    """
    if "$ref" in node:
        _check_word(data, definitions[node["$ref"].rpartition("/")[2]], definitions, where)
    elif "oneOf" in node:
        first, other = node["oneOf"]
        if other.get("type") == "integer" and type(data) is int:  # knobs, by their number
            if not 0 <= data <= MOST_ITEMS:
                right = f"give a list of knobs, or how many stand in one row, 0 to {MOST_ITEMS}"
                raise InputError(where, data, right)
        elif other.get("type") != "null" or data is not None:
            check_shape(data, first, definitions, where)
    elif "type" not in node or (data is None and "null" in node["type"]):
        return
    elif "array" in node["type"]:
        if not isinstance(data, list):
            raise InputError(where, data, "give a list")
        for position, item in enumerate(data):
            check_shape(item, node["items"], definitions, f"{where}[{position}]")
    else:
        _check_leaf(data, node, where)


def _check_leaf(data: object, node: Node, where: str) -> None:
    if "enum" in node:
        check_choice(where, data, [word for word in node["enum"] if word is not None])
    elif "minimum" in node:
        check_whole(where, data, node["minimum"], node["maximum"], node.get("unit", ""))
    elif "pattern" not in node:
        kinds, right = next(each for name, each in _LEAVES.items() if name in node["type"])
        if type(data) not in kinds:
            raise InputError(where, data, right)


def _check_word(data: object, node: Node, definitions: Mapping[str, Node], where: str) -> None:
    if "oneOf" in node:
        node = _tagged(data, node["oneOf"], definitions, where)
    fixed = {key: each["const"] for key, each in node["properties"].items() if "const" in each}
    keys = [key for key in node["properties"] if key not in fixed]
    if not isinstance(data, dict):
        raise InputError(where, data, f"give an object with the keys {_quoted(keys)}")
    if "knobpack" in fixed:
        _headed(where, data, (fixed["knobpack"],))
    for key in data:
        if key not in node["properties"] and not node["additionalProperties"]:
            right = f"the keys are {_quoted(keys)}{near_to(key, keys)}"
            raise InputError(_inner(where, key), _UNKNOWN, right)
    for key in keys:
        if key in data:
            check_shape(data[key], node["properties"][key], definitions, _inner(where, key))
        elif key in node["required"]:
            raise InputError(_inner(where, key), MISSING, "this key must be there")


def _tagged(
    data: object, nodes: Iterable[Node], definitions: Mapping[str, Node], where: str
) -> Node:
    """Which of some words it is: a key of it says so, which is the first of each."""
    words = [definitions[node["$ref"].rpartition("/")[2]] for node in nodes]
    key = next(iter(words[0]["properties"]))
    tags = {word["properties"][key]["const"]: word for word in words}
    if not isinstance(data, dict):
        raise InputError(where, data, f'give an object with "{key}", one of {_quoted(tags)}')
    tag = data.get(key, MISSING)
    if tag is MISSING or not isinstance(tag, str) or tag not in tags:
        raise InputError(_inner(where, key), tag, f"give one of {_choices(tag, tags)}")
    return tags[tag]


def _headed(where: str, data: Mapping[str, Any], kinds: Collection[str]) -> str:
    """What a file, or what stands in one as if in a file of its own, says that it holds."""
    kind, version = (data.get(key, MISSING) for key in ("knobpack", "version"))
    if not isinstance(kind, str) or kind not in kinds:
        right = f"say what this is: one of {_choices(kind, kinds)}"
        raise InputError(_inner(where, "knobpack"), kind, right)
    if type(version) is not int or version != VERSION:
        right = f"the versions that can be read are: {VERSION}"
        raise InputError(_inner(where, "version"), version, right)
    return kind


def _inner(where: str, key: str) -> str:
    return (where + key_path(key)).lstrip(".")


def _choices(given: object, names: Collection[str]) -> str:
    """Names to choose from, and those that come close to what was given in place of one."""
    return _quoted(names) + ("" if given is MISSING else near_to(given, names))


def _quoted(names: Iterable[str]) -> str:
    """Names in a row, each as it stands in a file."""
    return ", ".join(f'"{name}"' for name in names)
