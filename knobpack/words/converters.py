"""What the fields of the words take, made into what they hold.

Wherever several things stand, any iterable of them will do, but for a set: it has no order. In
place of a name the voice, group or knob that is called so will do; in place of a whole number
whatever Python itself takes for one, those of numpy among it. What is none of that is left as it
is, for the validator to refuse by the name of its field.

Each is a named function with its first parameter annotated, and none is generic: so type checkers
know what a field takes.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, MappingView, Set
from contextlib import suppress
from typing import TYPE_CHECKING, Any, SupportsIndex, TypeAlias, TypeVar, cast

if TYPE_CHECKING:
    from knobpack.words.knob_settings import KnobLabel, KnobSending
    from knobpack.words.layout import KnobTravel, Route, VoiceLayer
    from knobpack.words.past import Arrival, BrokenKnob, MovedRoute, PastEdit
    from knobpack.words.rules import Rule
    from knobpack.words.setup_edits import Driven
    from knobpack.words.snapshot import KnobPosition, Snapshot
    from knobpack.words.surface import Knob
    from knobpack.words.voice import Destination, Group, Member, Voice

_T = TypeVar("_T")


def as_tuple(given: Any) -> tuple[Any, ...]:
    """A tuple where ``given`` can be listed; else itself, whatever the annotation says."""
    listed = isinstance(given, Iterable) and not isinstance(given, str | bytes)
    return tuple(given) if listed and not unordered(given) else cast("tuple[Any, ...]", given)


def unordered(given: Any) -> bool:
    """Whether it is a set, which gives its items in another order in each run of Python.

    A view of a dict is none: it has the order of the dict.
    """
    return isinstance(given, Set) and not isinstance(given, MappingView)


def whole(given: SupportsIndex) -> int:
    """A whole number; true and false are none."""
    return _whole(given)


def maybe_whole(given: SupportsIndex | None) -> int | None:
    """A whole number, or none."""
    return _whole(given)


def wholes(given: Iterable[SupportsIndex]) -> tuple[int, ...]:
    """Whole numbers."""
    return _each(given, _whole)


def texts(given: str | Iterable[str]) -> tuple[str, ...]:
    """Texts; one alone may stand for a list of one."""
    return names_of(given)


def maybe_kind(given: str | None) -> str:
    """What kind a destination is; of none its name is set in its place."""
    return cast("str", given)


def voice_name(given: str | Voice) -> str:
    """The name of a voice."""
    return name_of(given, _voice)


def maybe_voice_names(given: str | Voice | Iterable[str | Voice] | None) -> tuple[str, ...] | None:
    """The names of voices, one alone or several; or none."""
    return names_of(given, _voice)


def voice_names(given: str | Voice | Iterable[str | Voice]) -> tuple[str, ...]:
    """The names of voices, one alone or several."""
    return names_of(given, _voice)


def member_names(given: Member | Iterable[Member]) -> tuple[str, ...]:
    """The names of voices, groups and destinations, one alone or several."""
    return names_of(given, _member)


def driven_names(given: Driven | Iterable[Driven]) -> tuple[str, ...]:
    """The names of voices, groups, destinations and knobs, one alone or several."""
    return names_of(given, _driven)


def knob_name(given: str | Knob) -> str:
    """The name of a knob."""
    return name_of(given, _knob)


def maybe_knob_name(given: str | Knob | None) -> str | None:
    """The name of a knob, or none."""
    return name_of(given, _knob)


def knob_names(given: str | Knob | Iterable[str | Knob]) -> tuple[str, ...]:
    """The names of knobs, one alone or several."""
    return names_of(given, _knob)


def snapshot_name(given: str | Snapshot) -> str:
    """The name of a snapshot."""
    return name_of(given, _snapshot)


def snapshot_names(given: str | Snapshot | Iterable[str | Snapshot]) -> tuple[str, ...]:
    """The names of snapshots, one alone or several."""
    return names_of(given, _snapshot)


def maybe_snapshot_names(
    given: str | Snapshot | Iterable[str | Snapshot] | None,
) -> tuple[str, ...] | None:
    """The names of snapshots, one alone or several; or none."""
    return names_of(given, _snapshot)


def knobs(given: Iterable[Knob]) -> tuple[Knob, ...]:
    """Knobs."""
    return as_tuple(given)


def destinations(given: Iterable[Destination]) -> tuple[Destination, ...]:
    """Destinations."""
    return as_tuple(given)


def voices(given: Iterable[Voice]) -> tuple[Voice, ...]:
    """Voices."""
    return as_tuple(given)


def groups(given: Iterable[Group]) -> tuple[Group, ...]:
    """Groups."""
    return as_tuple(given)


def routes(given: Iterable[Route]) -> tuple[Route, ...]:
    """Routes."""
    return as_tuple(given)


def knob_travels(given: Iterable[KnobTravel]) -> tuple[KnobTravel, ...]:
    """The travels of knobs."""
    return as_tuple(given)


def voice_layers(given: Iterable[VoiceLayer]) -> tuple[VoiceLayer, ...]:
    """The layers of voices."""
    return as_tuple(given)


def snapshots(given: Iterable[Snapshot]) -> tuple[Snapshot, ...]:
    """Snapshots."""
    return as_tuple(given)


def maybe_snapshots(given: Iterable[Snapshot] | None) -> tuple[Snapshot, ...] | None:
    """Snapshots, or none."""
    return as_tuple(given)


def knob_positions(given: Iterable[KnobPosition]) -> tuple[KnobPosition, ...]:
    """The positions of knobs."""
    return as_tuple(given)


def knob_labels(given: Iterable[KnobLabel]) -> tuple[KnobLabel, ...]:
    """The labels of knobs."""
    return as_tuple(given)


def knob_sendings(given: Iterable[KnobSending]) -> tuple[KnobSending, ...]:
    """What knobs send."""
    return as_tuple(given)


def rules(given: Iterable[Rule]) -> tuple[Rule, ...]:
    """Rules."""
    return as_tuple(given)


def arrivals(given: Iterable[Arrival]) -> tuple[Arrival, ...]:
    """Sources that came."""
    return as_tuple(given)


def moved_routes(given: Iterable[MovedRoute]) -> tuple[MovedRoute, ...]:
    """Routes that gave way."""
    return as_tuple(given)


def broken_knobs(given: Iterable[BrokenKnob]) -> tuple[BrokenKnob, ...]:
    """Knobs that are broken."""
    return as_tuple(given)


def past_edits(given: Iterable[PastEdit]) -> tuple[PastEdit, ...]:
    """Edits that were made."""
    return as_tuple(given)


_Kinds: TypeAlias = Callable[[], tuple[type, ...]]
"""Which words a name may be given by. Asked for only where something is no text."""


def _voice() -> tuple[type, ...]:
    from knobpack.words.voice import Voice

    return (Voice,)


def _member() -> tuple[type, ...]:
    from knobpack.words.voice import Group, Voice

    return (Voice, Group)


def _knob() -> tuple[type, ...]:
    from knobpack.words.surface import Knob

    return (Knob,)


def _driven() -> tuple[type, ...]:
    return (*_member(), *_knob())


def _snapshot() -> tuple[type, ...]:
    from knobpack.words.snapshot import Snapshot

    return (Snapshot,)


def _whole(given: Any) -> int:
    if type(given) is not int and not isinstance(given, bool) and hasattr(given, "__index__"):
        with suppress(TypeError):  # an array of several numbers has an __index__ too
            return operator.index(given)
    return cast("int", given)


def name_of(given: Any, kinds: _Kinds) -> str:
    """What a name is, given as text or as a word of one of some kinds."""
    if isinstance(given, str):
        return given
    return cast("str", getattr(given, "name", given) if isinstance(given, kinds()) else given)


def names_of(given: Any, kinds: _Kinds = tuple) -> tuple[str, ...]:
    """The same of several, or of one alone."""
    alone = name_of(given, kinds)
    return (alone,) if isinstance(alone, str) else _each(given, lambda each: name_of(each, kinds))


def _each(given: Any, convert: Callable[[Any], _T]) -> tuple[_T, ...]:
    listed = as_tuple(given)
    return tuple(map(convert, listed)) if isinstance(listed, tuple) else listed
