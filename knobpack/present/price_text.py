"""Price text: what a layout costs, term by term, in plain words and aligned columns.

``page`` says how many columns of a terminal a line may take, at most.
"""

from __future__ import annotations

from knobpack.allocation import Allocation
from knobpack.definition.prices import KNOB_TERMS, PLACE_TERMS, SPREAD_TERMS, KnobPrice
from knobpack.text.columns import PAGE, listing
from knobpack.words.names import knob_told, knobs_told, listed, place_told


def rule_lines(allocation: Allocation, page: int = PAGE) -> list[str]:
    """Every rule, whether it is required, and what it costs where it is preferred and not met."""
    rows = []
    on = {knob: allocation.on(knob) for knob in allocation.used}
    for effect in allocation.request.effects:
        price = effect.weight * effect.breaches(on)
        met = f"not met: costs {price:,}" if price else "met"
        firm = f"preferred, weight {effect.weight:,}" if effect.weight else "required"
        rows.append((str(effect.rule), firm, met))
    return listing(rows, title="RULES", page=page)


def sharing_lines(allocation: Allocation, page: int = PAGE) -> list[str]:
    """A table of the knobs that more than one destination shares, or that cost anything."""
    carried = [route.knob for route in allocation.routes]
    shown = [each for each in allocation.prices.knobs if each.price or carried.count(each.knob) > 1]
    if not shown:
        return ["SHARED KNOBS  none"]
    rows = [(knob_told(each.knob), f"{each.price:,}", _terms_told(each)) for each in shown]
    rows.append(("all", f"{sum(each.price for each in shown):,}", _terms_told(*shown)))
    heading = "SHARED KNOBS  what each costs, in points of the line 'sharing knobs'"
    return listing(rows, title=heading, right={1}, page=page)


def _terms_told(*knobs: KnobPrice) -> str:
    """What some knobs cost together, term by term."""
    sums = ((KNOB_TERMS[t], sum(getattr(each, t) for each in knobs)) for t in KNOB_TERMS)
    return ", ".join(f"{called} {points:,}" for called, points in sums if points) or "-"


def spread_lines(allocation: Allocation, page: int = PAGE) -> list[str]:
    """A table of the preferred ``together`` rules that are not met."""
    spreads = allocation.prices.spreads
    if not spreads:
        return []
    rows = [
        (SPREAD_TERMS[each.term], each.what, f"on {knobs_told(each.knobs)}", _points(each.price))
        for each in spreads
    ]
    rows.append(("all", "", "", _points(sum(each.price for each in spreads))))
    heading = "SPREAD  what was meant for one knob, in points of the line 'sharing knobs'"
    return listing(rows, title=heading, right={3}, page=page)


def change_lines(allocation: Allocation, page: int = PAGE) -> list[str]:
    """The routes of the previous layout that are not in this one; nothing if there was none."""
    if allocation.request.previous is None:
        return []
    rows = [
        (each.destination, f"was on {knob_told(each.before)}", f"now {place_told(each.now)}")
        for each in allocation.prices.changes
    ]
    rows += [
        (f"travel of {knob_told(each.knob)}", f"was {each.before}", f"now {each.now}")
        for each in allocation.prices.resets
    ]
    return listing(rows, title="CHANGED ROUTES", page=page) or ["CHANGED ROUTES  none"]


def place_lines(allocation: Allocation, page: int = PAGE) -> list[str]:
    """A table of what the tier *layout* comes to, term by term, with whom it concerns."""
    places = allocation.prices.places
    if not places:
        return []
    rows = []
    for called in dict.fromkeys(PLACE_TERMS.values()):
        concerned = [each for each in places if PLACE_TERMS[each.term] == called]
        if concerned:
            price = sum(each.price for each in concerned)
            whom = listed([f"{each.what} {each.price:,}" for each in concerned], most=4)
            rows.append((called, f"{price:,}", whom))
    rows.append(("all", f"{sum(each.price for each in places):,}", ""))
    heading = "PLACES ON THE PANEL  in points of the line of that name"
    return listing(rows, title=heading, right={1}, page=page)


def _points(price: int) -> str:
    return f"{price:,}" if price else "-"
