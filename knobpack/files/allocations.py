"""Allocations read back: laid out anew from what the file says, and checked by the plain checker.

A file holds the request, the layout and what was proven. What follows from request and layout is
worked out again, and must be what the file says: prices, travels, what follows, what is left out.
Bounds and proofs are taken as they stand once they agree with the values: no checker could find
those without a search.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any, get_args

import attrs

from knobpack.allocation import Allocation, Tier
from knobpack.allocation.checked import assembled, completed, insist
from knobpack.checker import check
from knobpack.definition.prices import IN_USE_TIERS
from knobpack.errors import MISSING, InputError, Stopped
from knobpack.file_shapes import check_word
from knobpack.files.forms import FILES, form_of
from knobpack.files.stored import head
from knobpack.files.written import DEFINITION, OTHERWISE, to_plain
from knobpack.storage.strict_json import key_path
from knobpack.words import Layout, Request
from knobpack.words.names import near_to

_KEYS = ("essential_out", *(field.name for field in attrs.fields(Allocation)))

_NEEDED = ("routes", "tiers")

_TIER = {"name", "value", "bound", "proven"}
"""What a tier has in a file; from 0.10.0 on it says as well what holds of the same sharing."""

OLDER = 1
"""The definition of what costs how much that a file was written under which does not say."""

WRITTEN_BEFORE = ("frontiers",)
"""What 0.6.0 wrote besides, and is now worked out when it is asked: it is passed over."""


def allocation_of_plain(data: Mapping[str, Any]) -> Allocation:
    """The allocation that a file holds.

    Args:
        data: what stands in the file; its request has the shape that the schema says.

    Raises:
        InputError: a value will not do, or does not agree with the others; named from
            ``Allocation``, as what a word refuses is.
    """
    body = {key: each for key, each in data.items() if key != "request"}
    try:
        request = FILES[Request].read(data["request"])
    except InputError as error:
        raise error.under("Allocation.request") from None
    return allocation_within(body, request, "Allocation", older=is_older(body, "Allocation"))


def is_older(data: Mapping[str, Any], where: str) -> bool:
    """Whether a file was written when something cost otherwise than it does now.

    Raises:
        InputError: it is of a definition that is not known yet, or none.
    """
    given = data.get("definition", OLDER)
    if type(given) is not int or not OLDER <= given <= DEFINITION:
        right = f"give a whole number from {OLDER} to {DEFINITION}, or a newer knobpack"
        raise InputError(f"{where}.definition", given, right)
    return given < DEFINITION


def allocation_within(
    data: Mapping[str, Any], request: Request, where: str, *, older: bool
) -> Allocation:
    """The allocation of a request that is known, once all that is said of it follows from it.

    Args:
        data: what stands in a file, but for the request.
        request: what is asked.
        where: the path of the place where it stands.
        older: whether it was written when something cost otherwise: then it lies as it lay, and
            what was said of a tier that comes to something else now, or of those after, is passed
            over.

    Raises:
        InputError: as :func:`allocation_of_plain`, named from that place.
    """
    passed = (*head("allocation"), "definition", *WRITTEN_BEFORE)
    body = {key: each for key, each in data.items() if key not in passed}
    check_keys(body, where, _KEYS, *_NEEDED)
    layout = layout_within(body, where)
    whole = completed(request, layout)
    try:
        found = check(request, whole)
        insist("routes", layout, found)
    except InputError as error:
        raise _under(error, where) from None
    order, totals = found.prices.order, found.prices.totals
    tiers = tiers_of_plain(body["tiers"], order, totals, f"{where}.", older=older)
    made = assembled(request, whole, found, tiers, stopped_by(body, f"{where}."))
    written = to_plain(made)
    for key, value in body.items():
        if key != "tiers" and not older and value != written[key]:
            right = "this does not follow from the request and the routes; leave it out"
            raise InputError(f"{where}.{key}", value, right)
    return made


def layout_within(data: Mapping[str, Any], where: str) -> Layout:
    """The layout that an allocation has, of what stands in a file.

    Raises:
        InputError: a value will not do, named from ``where``.
    """
    laid: dict[str, Any] = {key: data[key] for key in ("routes", "travels") if key in data}
    laid["layers"] = _layers(data.get("layers", []))
    try:
        check_word("Layout", {**head("layout"), **laid})
        layout: Layout = form_of(Layout).read(laid)
    except InputError as error:
        raise _under(error, where) from None
    return layout


def _under(error: InputError, where: str) -> InputError:
    """The same error, its field named from where the layout stands that refused."""
    inner = error.under("") if error.field.startswith("Layout") else error
    return InputError(f"{where}.{inner.field or 'routes'}", error.value, error.right)


def _layers(data: object) -> object:
    """The layers of an allocation as those of a layout: where each voice stands now."""
    if not isinstance(data, list) or not all(isinstance(each, dict) for each in data):
        return data
    return [{"voice": each.get("voice"), "layer": each.get("new")} for each in data]


def stopped_by(body: Mapping[str, Any], where: str) -> Stopped | None:
    """What cut the search short, as a file says."""
    stopped: Stopped | None = body.get("stopped")
    if stopped is not None and stopped not in get_args(Stopped):
        right = f"give null, or one of {', '.join(map(repr, get_args(Stopped)))}"
        raise InputError(f"{where}stopped", stopped, right)
    return stopped


def check_keys(body: Mapping[str, Any], where: str, keys: Collection[str], *needed: str) -> None:
    """Refuse what has a key that is not one of some, or has not what it needs."""
    for key in body:
        if key not in keys:
            right = f"this key is not known{near_to(str(key), keys)}"
            raise InputError(f"{where}{key_path(key)}", body[key], right)
    for key in needed:
        if key not in body:
            raise InputError(f"{where}.{key}", MISSING, "this key must be there")


def tiers_of_plain(
    given: object, names: Sequence[str], values: Sequence[int], within: str, *, older: bool
) -> list[Tier]:
    """The tiers: the values are those of the checker, and what is proven is so by its bound.

    Args:
        given: what stands in a file.
        names: what the tiers are called, the most important first.
        values: what the checker finds each to be.
        within: the path of what they are of, up to its dot.
        older: whether they were written when something cost otherwise.

    Raises:
        InputError: they are not so.
    """
    if not isinstance(given, list) or len(given) != len(names):
        raise InputError(f"{within}tiers", given, f"give a list of {len(names)} tiers")
    found, before, otherwise = [], True, False
    for at, (each, name, value) in enumerate(zip(given, names, values, strict=True)):
        where = f"{within}tiers[{at}]"
        right = {"name": name, "value": value}
        if not isinstance(each, dict) or set(each) - {"as_shared"} != _TIER:
            raise InputError(where, each, "give an object of name, value, bound and proven")
        by_another_rule = name == OTHERWISE and (value > 0 or tuple(names) == IN_USE_TIERS)
        otherwise = older and (otherwise or each["value"] != value or by_another_rule)
        if otherwise:
            found.append(Tier(name, value, 0, proven=False))
            continue
        for key, there in right.items():
            if type(each[key]) is not type(there) or each[key] != there:
                told = f"the checker finds {there!r} for this layout; allocate its request anew"
                raise InputError(f"{where}.{key}", each[key], told)
        bound, proven = each["bound"], each["proven"]
        if type(bound) is not int or bound > value:
            raise InputError(f"{where}.bound", bound, f"a bound is a whole number up to {value}")
        if type(proven) is not bool or (proven and (bound != value or not before)):
            told = "true only where the bound is the value, and every tier before is proven"
            raise InputError(f"{where}.proven", proven, told)
        as_shared = each.get("as_shared", bound)
        if type(as_shared) is not int or not bound <= as_shared <= value:
            told = f"a bound is a whole number from {bound} to {value}"
            raise InputError(f"{where}.as_shared", as_shared, told)
        found.append(Tier(name, value, bound, proven, as_shared))
        before = proven
    return found
