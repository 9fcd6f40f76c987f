"""Allocations read back: laid out anew from what the file says, and checked by the plain checker.

A file holds the request, the layout and what was proven. What follows from request and layout is
worked out again, and must be what the file says: prices, travels, what follows, what is left out.
Bounds and proofs are taken as they stand once they agree with the values: no checker could find
those without a search.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

import attrs

from knobpack.allocation import Allocation, Tier
from knobpack.allocation.checked import assembled, completed, insist
from knobpack.checker import check
from knobpack.definition.prices import Prices
from knobpack.errors import MISSING, InputError, Stopped
from knobpack.file_shapes import check_word
from knobpack.files.forms import FILES, form_of
from knobpack.files.stored import head
from knobpack.files.written import allocation_to_plain
from knobpack.storage.strict_json import key_path
from knobpack.words import Layout, Request
from knobpack.words.names import near_to

_KEYS = ("essential_out", *(field.name for field in attrs.fields(Allocation)))

_NEEDED = ("request", "routes", "tiers")

_TIER = {"name", "value", "bound", "proven"}
"""What a tier has in a file; from 0.10.0 on it says as well what holds of the same sharing."""

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
    passed = (*head("allocation"), *WRITTEN_BEFORE)
    body = {key: each for key, each in data.items() if key not in passed}
    _check_keys(body)
    try:
        request = FILES[Request].read(body["request"])
    except InputError as error:
        raise error.under("Allocation.request") from None
    laid: dict[str, Any] = {key: body[key] for key in ("routes", "travels") if key in body}
    laid["layers"] = _layers(body.get("layers", []))
    try:
        check_word("Layout", {**head("layout"), **laid})
        return _checked(body, request, form_of(Layout).read(laid))
    except InputError as error:
        inner = error.under("") if error.field.startswith("Layout") else error
        field = f"Allocation.{inner.field or 'routes'}"
        raise InputError(field, error.value, error.right) from None


def _layers(data: object) -> object:
    """The layers of an allocation as those of a layout: where each voice stands now."""
    if not isinstance(data, list) or not all(isinstance(each, dict) for each in data):
        return data
    return [{"voice": each.get("voice"), "layer": each.get("new")} for each in data]


def _checked(body: Mapping[str, Any], request: Request, layout: Layout) -> Allocation:
    """The allocation that some layout is, once all that is said of it follows from it."""
    whole = completed(request, layout)
    found = check(request, whole)
    insist("routes", layout, found)
    stopped = body.get("stopped")
    if stopped is not None and stopped not in get_args(Stopped):
        right = f"give null, or one of {', '.join(map(repr, get_args(Stopped)))}"
        raise InputError("stopped", stopped, right)
    made = assembled(
        request,
        whole,
        found,
        _tiers(body["tiers"], found.prices),
        stopped,
    )
    written = allocation_to_plain(made)
    for key, value in body.items():
        if key not in ("request", "tiers") and value != written[key]:
            right = "this does not follow from the request and the routes; leave it out"
            raise InputError(key, value, right)
    return made


def _check_keys(body: Mapping[str, Any]) -> None:
    """Refuse what has a key that no allocation has, or has not what it needs."""
    for key in body:
        if key not in _KEYS:
            right = f"this key is not known{near_to(str(key), _KEYS)}"
            raise InputError(f"Allocation{key_path(key)}", body[key], right)
    for key in _NEEDED:
        if key not in body:
            raise InputError(f"Allocation.{key}", MISSING, "this key must be there")


def _tiers(given: object, prices: Prices) -> list[Tier]:
    """The tiers: the values are those of the checker, and what is proven is so by its bound."""
    if not isinstance(given, list) or len(given) != len(prices.order):
        raise InputError("tiers", given, f"give a list of {len(prices.order)} tiers")
    found, before = [], True
    for at, (each, name, value) in enumerate(zip(given, prices.order, prices.totals, strict=True)):
        where = f"tiers[{at}]"
        right = {"name": name, "value": value}
        if not isinstance(each, dict) or set(each) - {"as_shared"} != _TIER:
            raise InputError(where, each, "give an object of name, value, bound and proven")
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
