"""Step: one thing to set on the instrument, from what it is to what it becomes."""

from __future__ import annotations

from collections.abc import Callable

import attrs

from knobpack.sheets.told import NOTHING, TOLD
from knobpack.text.shown import Fielded
from knobpack.words import Group, KnobSending, Snapshot, Travel, Voice

VOICE = "voice"
ROUTE = "route"
TRAVEL = "travel"
LABEL = "label"
SENDING = "sending"
GROUP = "group"
SNAPSHOT = "snapshot"
POSITION = "position"
NAME = "name"

CLEAR = "Clear the way"
VOICES = "Voices on their layers"
AWAY = "Routes to take away"
TRAVELS = "Travels of the knobs"
ROUTES = "Routes to add"
PANEL = "What the knobs show and send"
GROUPS = "Groups"
SNAPSHOTS = "Snapshots"
STORE = "Name of the setup"
RECORDED = "Nothing to set"

STAGES = (CLEAR, VOICES, AWAY, TRAVELS, ROUTES, PANEL, GROUPS, SNAPSHOTS, STORE, RECORDED)
"""The headings of a patch sheet, in the order in which they are worked through.

Later steps name layers, so the voices come first. A knob is given its travel when what it is no
longer to drive is off it, and before what it is to drive comes onto it: nothing new is ever moved
over a wrong travel. What a knob shows and sends comes when it drives what it is to drive. Groups
come before the snapshots that name them. What must go before any voice comes is cleared first: a
route that leads to nothing would drive a new voice of that name at once, and a name is either a
voice's or a group's. What differs only in what is recorded of it comes last.
"""

Value = Voice | Group | Snapshot | Travel | KnobSending | str | int | None


@attrs.frozen
class Step(Fielded):
    """One thing to set.

    Args:
        what: ``voice``, ``route``, ``travel``, ``label``, ``sending``, ``group``, ``snapshot``,
            ``position`` or ``name``.
        where: the name of the voice, knob (of a route, a travel, a label, what it sends and a
            stored position), group or snapshot; of the setup as it was, for ``name``.
        before: what is there: the Voice or Group, the Snapshot without its positions, the full name
            of the destination of a route, the Travel in the positions of the surface, the label,
            the KnobSending, the stored position, the name of the setup. None: nothing, or for a
            travel none of the knob's own, which is the full one.
        after: what is to be there, likewise.
        stage: the heading it stands under, one of STAGES.
        top: the highest position of the surface, 2**bits - 1.
        layer: the layer of what a route leads to; None: it has none, or this is no route.
        same: how many of this very route are there already; more than one, or one when it is added,
            only in a faulty setup.
        beside: the other voices that stand at the layer a voice comes to, when it comes there.
        knobs: the knobs that follow the master in a snapshot, when all steps are done; of a stored
            position, those that are to be set by ear there.
        snapshot: the snapshot that a position is stored in; else nothing.
        travel: the travel of a route that has one of its own.
        destination: the full name of what a route leads to whose travel is set; else nothing.
        added: whether the snapshot that a position is stored in is new.
        undriven: the voices, groups and destinations that come to what a snapshot moves, and of
            which no knob drives anything.
        held: of a position in a new snapshot, the full name of what every snapshot that was there
            and held it put there, or of a level that none put lower; else nothing.
        lowest: whether it is such a level, and stood higher too.
    """

    what: str
    where: str
    before: Value
    after: Value
    stage: str
    top: int
    layer: int | None = None
    same: int = 0
    beside: tuple[str, ...] = ()
    knobs: tuple[str, ...] = ()
    snapshot: str = ""
    travel: Travel | None = None
    destination: str = ""
    added: bool = False
    undriven: tuple[str, ...] = ()
    held: str = ""
    lowest: bool = False

    @property
    def sets(self) -> bool:
        """Whether there is something to set on the instrument; else only what is recorded differs.

        What it says, names apart, tells.
        """
        return f": {NOTHING}" not in self.told(lambda _: "")

    def __str__(self) -> str:
        return self.told()

    def told(self, show: Callable[[str], str] = str) -> str:
        """What to set, as one sentence.

        Args:
            show: what a name is shown as: escaped for the format that the sentence goes into.

        Returns:
            The sentence, with a full stop.
        """
        return TOLD[self.what](self, self.before, self.after, show)
