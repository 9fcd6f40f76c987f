"""Jump: what one destination does at the recall of a snapshot, and jumps in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import attrs

from knobpack.definition.phrases import CAUTION
from knobpack.grouped import grouped
from knobpack.text.shown import Fielded
from knobpack.words.fields import as_list, check_kind
from knobpack.words.loudness import level_like
from knobpack.words.names import knob_told, listed


@attrs.frozen
class Jump(Fielded):
    """What one destination does at the recall of a snapshot, through one knob.

    Args:
        destination: its full name.
        kind: what it controls.
        knob: the knob that drives it.
        before: the name of the snapshot that was in force.
        after: the name of the snapshot that is recalled.
        master: the position of the master, 0 to ``top``.
        top: the highest position, 2**bits - 1.
        from_position: where the knob stood, 0 to ``top``.
        to_position: where it stands now, 0 to ``top``.
        from_received: what the destination received: 0 to 1 of full travel, or in the unit of its
            response.
        to_received: what it receives now, likewise.
        share: how far it jumps, as a share of all that it can receive: 0 none, 1 from end to end.
        from_known: whether it is known where the knob stood; else ``from_position`` is the worst.
        to_known: whether it is known where it stands now; else ``to_position`` is the worst.
    """

    destination: str
    kind: str
    knob: str
    before: str
    after: str
    master: int
    top: int
    from_position: int
    to_position: int
    from_received: float
    to_received: float
    share: float
    from_known: bool
    to_known: bool

    @property
    def level_like(self) -> bool:
        """Whether the kind can change how loud a voice is."""
        return level_like(self.kind)

    @property
    def known(self) -> bool:
        """Whether it is known where the knob stood, and where it stands now."""
        return self.from_known and self.to_known

    @property
    def percent(self) -> int:
        """The share in hundredths, to the nearest, but 1 where it is less and not nothing."""
        return max(int(100 * self.share + 0.5), int(self.share > 0))

    @property
    def sentences(self) -> tuple[str, ...]:
        """What jumps and why, and a caution where it can be loud."""
        return jump_sentences((self,))

    def __str__(self) -> str:
        return self.sentences[0]


def jump_sentences(jumps: Iterable[Jump]) -> tuple[str, ...]:
    """Jumps in sentences, in their order; at the end what is still, and a caution.

    Args:
        jumps: what :func:`change` or :func:`worst_changes` gave back, or some of it.

    Returns:
        The sentences; of no jumps, none.

    Raises:
        InputError: it is no list of Jumps.

    Example:
        >>> from knobpack import Destination, KnobPosition, KnobTravel, Route, Setup, Snapshot
        >>> from knobpack import Surface, Travel, Voice
        >>> from knobpack.simulation import change, jump_sentences
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ...     travels=(KnobTravel("K1", Travel(20, 100)),),
        ...     snapshots=(
        ...         Snapshot("Swell", ("Felt piano",)),
        ...         Snapshot("Still", positions=(KnobPosition("K1", 100),)),
        ...     ),
        ... )
        >>> print(*jump_sentences(change(setup, "Swell", "Still", master=127)))
        Felt piano/level does not jump.
    """
    each = as_list("jump_sentences.jumps", jumps, "give a list of Jumps")
    for at, jump in enumerate(each):
        check_kind(f"jump_sentences.jumps[{at}]", jump, Jump)
    moving = [jump for jump in each if jump.share > 0]
    alike = grouped(
        ((j.knob, j.before, j.after, j.master) if j.known else (j.percent, j.knob), j)
        for j in moving
    )
    found = [_sure(own) if own[0].known else _unsure(own) for own in alike.values()]
    jumping = {jump.destination for jump in moving}
    still = dict.fromkeys(jump.destination for jump in each if jump.destination not in jumping)
    if still:
        verb = "does" if len(still) == 1 else "do"
        found.append(f"{listed(list(still))} {verb} not jump.")
    loud = dict.fromkeys(jump.destination for jump in moving if jump.level_like)
    if loud:
        verb = "jumps" if len(loud) == 1 else "jump"
        found.append(f"{listed(list(loud))} {verb}: levels, or what can change them. {CAUTION}")
    return tuple(found)


def _sure(jumps: Sequence[Jump]) -> str:
    """What jumps for certain as one knob goes one way."""
    first = jumps[0]
    when = f"{first.after!r} after {first.before!r} with the master at {first.master}"
    goes = f"{knob_told(first.knob)} goes from {first.from_position} to {first.to_position} at once"
    far = [
        f"{jump.destination} {'' if at else 'jumps '}by {jump.percent} %"
        for at, jump in enumerate(jumps)
    ]
    return f"{when}: {goes}; {listed(far)} of full range."


def _unsure(jumps: Sequence[Jump]) -> str:
    """What may jump so far because it is not known where its knob stands."""
    ends = [end for j in jumps for end in ((j.before, j.from_known), (j.after, j.to_known))]
    unknown = dict.fromkeys(repr(name) for name, known in ends if not known)
    named = list(dict.fromkeys(jump.destination for jump in jumps))
    told = f"At worst {listed(named)} {'jumps' if len(named) == 1 else 'jump'}"
    told += f" by {jumps[0].percent} % of full range: it is not known where"
    told += f" {knob_told(jumps[0].knob)} stands, as in {listed(list(unknown))}"
    return f"{told}; set it by ear."
