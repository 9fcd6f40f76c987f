"""A travel that is wanted and not gone over in the source: which of them comes, what is told."""

from knobpack import KnobTravel, Route, Setup, Surface, Travel, combine
from knobpack.words import Destination, Voice

BASE = Setup("Base", Surface.row(3))
WISHES = (Destination("cutoff", travel=Travel(0, 64)), Destination("level"))


def _source(*travels: KnobTravel) -> Setup:
    routes = (Route("Strings/cutoff", "K2"), Route("Strings/level", "K2"))
    return Setup(
        "Choir set", Surface.row(2), (Voice("Strings", WISHES, 1),), routes=routes, travels=travels
    )


def test_what_went_all_the_way_comes_so_and_its_wish_is_told() -> None:
    found = combine(BASE, _source())
    told = [(each.kind, each.name) for each in found.left]
    assert told == [("travel", "0 to 64 wanted by Strings/cutoff")]
    assert found.allocation.travel_of("Strings/cutoff") == Travel(0, 127)


def test_a_travel_that_is_set_was_chosen_and_is_not_told() -> None:
    for chosen in (Travel(0, 127), Travel(0, 64), Travel(20, 30)):
        assert combine(BASE, _source(KnobTravel("K2", chosen))).left == ()


def test_what_was_turned_round_in_the_source_is_asked_for_as_it_wants() -> None:
    found = combine(BASE, _source(KnobTravel("K2", Travel(64, 0))))
    wanted = {each.destination: each.wanted for each in found.carried}
    assert wanted == {"cutoff": Travel(0, 64), "level": Travel(64, 0)}
    told = [(each.kind, each.name, each.why) for each in found.left]
    why = "is not what it wants: 0 to 64 is asked for here"
    assert told == [("travel", "64 to 0 of Strings/cutoff", why)]
