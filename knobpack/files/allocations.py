"""Allocations read back: laid out anew from what the file says, and checked by the plain checker.

A file holds the request, the layout and what was proven. What follows from request and layout is
worked out again, and must be what the file says: prices, travels, what follows, what is left out.
Bounds and proofs are taken as they stand once they agree with the values; so are the costs of other
numbers of knobs. No checker could find those without a search.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any, get_args

import attrs

from knobpack.allocation import Allocation, Frontier, Frontiers, Tier
from knobpack.checked import assembled, completed, insist
from knobpack.checker import check
from knobpack.errors import InputError, Stopped
from knobpack.files.written import allocation_to_plain
from knobpack.prices import Prices
from knobpack.strict_json import key_path
from knobpack.words import Layout, Request
from knobpack.words.names import close, hint

_KEYS = ("essential_out", *(field.name for field in attrs.fields(Allocation)))

_NEEDED = ("request", "routes", "tiers")


def allocation_of_plain(body: Mapping[str, Any], request: Request, layout: Layout) -> Allocation:
    """The allocation that a file holds.

    Args:
        body: the file, without what says that it is an allocation.
        request: the request that stands in it.
        layout: the routes, travels and layers that stand in it.

    Raises:
        InputError: a value will not do, or does not agree with the others.
    """
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
        _frontiers(body.get("frontiers"), request),
    )
    written = allocation_to_plain(made)
    for key, value in body.items():
        if key != "request" and value != written[key]:
            right = "this does not follow from the request and the routes; leave it out"
            raise InputError(key, value, right)
    return made


def check_keys(body: Mapping[str, Any]) -> None:
    """Refuse what has a key that no allocation has, or has not what it needs.

    Raises:
        InputError: names the key.
    """
    for key in body:
        if key not in _KEYS:
            right = f"this key is not known{hint(close(str(key), _KEYS))}"
            raise InputError(key_path(key).lstrip("."), body[key], right)
    for key in _NEEDED:
        if key not in body:
            raise InputError(key, attrs.NOTHING, "this key must be there")


def _tiers(given: object, prices: Prices) -> list[Tier]:
    """The tiers: the values are those of the checker, and what is proven is so by its bound."""
    if not isinstance(given, list) or len(given) != len(prices.order):
        raise InputError("tiers", given, f"give a list of {len(prices.order)} tiers")
    found, before = [], True
    for at, (each, name, value) in enumerate(zip(given, prices.order, prices.totals, strict=True)):
        where = f"tiers[{at}]"
        right = {"name": name, "value": value}
        if not isinstance(each, dict) or set(each) != {"name", "value", "bound", "proven"}:
            raise InputError(where, each, "give an object of name, value, bound and proven")
        for key, there in right.items():
            if type(each[key]) is not type(there) or each[key] != there:
                told = f"the checker finds {there!r} for this layout"
                raise InputError(f"{where}.{key}", each[key], told)
        bound, proven = each["bound"], each["proven"]
        if type(bound) is not int or bound > value:
            raise InputError(f"{where}.bound", bound, f"a bound is a whole number up to {value}")
        if type(proven) is not bool or (proven and (bound != value or not before)):
            told = "true only where the bound is the value, and every tier before is proven"
            raise InputError(f"{where}.proven", proven, told)
        found.append(Tier(name, value, bound, proven))
        before = proven
    return found


def _frontiers(given: object, request: Request) -> Frontiers | None:
    if given is None:
        return None
    if not isinstance(given, dict) or set(given) != {"families", "whole"}:
        raise InputError("frontiers", given, "give an object of families and whole, or null")
    families = given["families"]
    if not isinstance(families, list):
        raise InputError("frontiers.families", families, "give a list")
    return Frontiers(
        tuple(
            _frontier(f"frontiers.families[{at}]", each, request)
            for at, each in enumerate(families)
        ),
        _frontier("frontiers.whole", given["whole"], request),
    )


def _frontier(where: str, given: object, request: Request) -> Frontier:
    if not isinstance(given, dict) or set(given) != {"destinations", "costs"}:
        raise InputError(where, given, "give an object of destinations and costs")
    names, costs = given["destinations"], given["costs"]
    known = isinstance(names, list) and all(
        isinstance(name, str) and name in request.destinations for name in names
    )
    if not known or len(set(names)) < len(names):
        raise InputError(f"{where}.destinations", names, "list destinations of the request, once")
    right = "list numbers of knobs, rising, each with four costs or null"
    if not isinstance(costs, list) or not all(map(_is_entry, costs)):
        raise InputError(f"{where}.costs", costs, right)
    if any(later[0] <= earlier[0] for earlier, later in pairwise(costs)):
        raise InputError(f"{where}.costs", costs, right)
    made = ((knobs, None if values is None else _four(values)) for knobs, values in costs)
    return Frontier(tuple(names), tuple(made))


def _is_entry(given: object) -> bool:
    if not isinstance(given, list) or len(given) != 2 or not _is_count(given[0]):
        return False
    return given[1] is None or (
        isinstance(given[1], list) and len(given[1]) == 4 and all(map(_is_count, given[1]))
    )


def _is_count(given: object) -> bool:
    return type(given) is int and given >= 0


def _four(values: list[int]) -> tuple[int, int, int, int]:
    first, second, third, fourth = values
    return first, second, third, fourth
