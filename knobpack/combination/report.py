"""Report: where everything that was combined went, and what stayed behind, and why."""

from __future__ import annotations

import attrs

from knobpack.text.shown import Fielded
from knobpack.words import Setup, Travel, converters, fields
from knobpack.words.names import hint, knob_told, listed, quoted

GROWN = "takes in"
"""A snapshot of the base that moves something of the sources besides."""
ALL = "all"
"""A snapshot that is added because the base has none that moves all that its others move."""
BASE = "base alone"
"""A snapshot that is added because none is left that moves the base alone."""
SOURCE = "source alone"
"""A snapshot that moves one source alone."""

GIVEN_UP = "is given up, as asked"
"""Why a snapshot does not come that the caller gave up."""
CROWDED_OUT = "does not come: if it came too, more would be left out"
"""Why a snapshot does not come that would keep something from every knob."""
NOT_ALONE = "does not come: with it, less would find a knob"
"""The same of one that would be there to play the base or a source alone."""
NONE_SOUGHT = "moved by no knob that works there, so none is looked for"
"""Why something is driven by no knob that none did anything to where it comes from."""
LIVED_WITHOUT = "is not added: knobs are shared with what came before"
"""Why a snapshot of the base alone does not come where the base has long done without."""


@attrs.frozen
class Source(Fielded):
    """A setup to bring voices from.

    Args:
        setup: the setup.
        voices: the names of the voices to bring; None: all of them. A name that the setup does not
            have is counted as lost, and told.

    Raises:
        InputError: a field holds a value it cannot hold, or a voice is named twice.
    """

    setup: Setup = attrs.field(validator=fields.one(Setup))
    voices: tuple[str, ...] | None = attrs.field(
        default=None, converter=converters.maybe_voice_names, validator=fields.names(optional=True)
    )

    @property
    def picked(self) -> tuple[str, ...]:
        """The names of the voices to bring, in the order of the setup."""
        names = tuple(voice.name for voice in self.setup.voices)
        return names if self.voices is None else tuple(n for n in names if n in self.voices)


@attrs.frozen
class Carried(Fielded):
    """One destination that a knob was looked for, and where it is now.

    Args:
        source: the name that its setup goes by here: its own, or with a number where two setups
            share one; the name of the base for what was freed there.
        voice: its voice there.
        destination: its name within the voice.
        old_layer: the layer of the voice there, counted from 1; None: it had none.
        old_knob: the knob that drove it there; None: none that works.
        old_travel: the travel of that knob, in the positions of that setup's surface.
        new_voice: what its voice is called now.
        new_layer: the layer of the voice now, counted from 1; None: it is the base's and has none.
        wanted: the travel it wants, in the positions of the surface it is on now.
        new_knob: the knob that drives it now; None: it is left out.
        new_travel: the travel of that knob now.
        beside: what else is on that knob, by full names.
    """

    source: str
    voice: str
    destination: str
    old_layer: int | None
    old_knob: str | None
    old_travel: Travel | None
    new_voice: str
    new_layer: int | None
    wanted: Travel
    new_knob: str | None
    new_travel: Travel | None
    beside: tuple[str, ...] = ()

    @property
    def was(self) -> str:
        """Where it was: ``layer 1, K2``."""
        return f"{layer_told(self.old_layer)}, {knob_told(self.old_knob or 'no knob')}"

    @property
    def now(self) -> str:
        """Where it is."""
        return f"{layer_told(self.new_layer)}, {knob_told(self.new_knob or 'no knob')}"

    @property
    def full_name(self) -> str:
        """What it is called now: ``voice/destination``."""
        return f"{self.new_voice}/{self.destination}"


def layer_told(layer: int | None) -> str:
    """A layer in words."""
    return "no layer" if layer is None else f"layer {layer}"


@attrs.frozen
class Brought(Fielded):
    """A voice, group or snapshot of a source that is in the result, and what it is called now.

    Args:
        source: the name that its setup goes by here.
        kind: ``voice``, ``group`` or ``snapshot``.
        old: its name there.
        new: its name now.
        old_layer: the layer of a voice there, counted from 1; None: it had none.
        new_layer: the layer of a voice now, counted from 1; None for all else.
    """

    source: str
    kind: str
    old: str
    new: str
    old_layer: int | None = None
    new_layer: int | None = None

    def __str__(self) -> str:
        mark = "'" if self.kind == "snapshot" else ""
        old, new = f"{mark}{self.old}{mark}", f"{mark}{self.new}{mark}"
        told = f"{self.source}: the {self.kind} {old}"
        told += f" is now called {new}" if new != old else " is brought"
        if self.new_layer is None:
            return told
        before = "it had none" if self.old_layer is None else f"it was on {self.old_layer}"
        return f"{told}, on layer {self.new_layer} ({before})"


@attrs.frozen
class NotAsItWas(Fielded):
    """One thing that is not as it was in its setup.

    Args:
        setup: the name that its setup goes by here.
        kind: ``voice``, ``destination``, ``route``, ``travel``, ``group``, ``snapshot``,
            ``member``, ``circle of groups``, ``rule`` or ``setup``.
        name: what it is called there.
        why: the reason, as the end of a sentence.
    """

    setup: str
    kind: str
    name: str
    why: str

    def __str__(self) -> str:
        # A knob may be called 3 and a snapshot "all": what is a name must be seen to be one.
        name = {"route": f"of {self.name}", "snapshot": f"'{self.name}'"}.get(self.kind, self.name)
        return f"{self.setup}: the {self.kind} {name} {self.why}"


@attrs.frozen
class Slip(Fielded):
    """A name in a source that stands for nothing that is there: a slip of the pen, counted as lost.

    Args:
        setup: the name that its setup goes by here.
        kind: ``voice``, ``destination``, ``knob`` or ``member``: what it is taken for.
        name: the name.
        uses: what calls on it, in words.
        close: the names that come close to it.
        essential: what is essential and is driven by nothing because of it, by full names: of the
            destination or voice that comes closest to it, or routed from the knob; as it is called
            now, where its voice came.
    """

    setup: str
    kind: str
    name: str
    uses: tuple[str, ...]
    close: tuple[str, ...]
    essential: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"there is no {self.name} ({', '.join(self.uses)}){hint(self.close)}".replace(
            "; close", ", close"
        )


@attrs.frozen
class Unlayered(Fielded):
    """A voice for which there is no layer, and which therefore stays behind.

    Args:
        source: the name that its setup goes by here.
        voice: its name there.
        destinations: what knobs drove of it there, by full names there.
        essential: those of them that are essential.
    """

    source: str
    voice: str
    destinations: tuple[str, ...]
    essential: tuple[str, ...]


@attrs.frozen
class IdleKnob(Fielded):
    """A knob of the base that does nothing, and that can be taken if it is cleared.

    Args:
        knob: its name.
        why: why it does nothing, as the end of a sentence.
    """

    knob: str
    why: str

    def __str__(self) -> str:
        return (
            f"{knob_told(self.knob)} of the base {self.why}: it does nothing, and can be "
            f"cleared to make room"
        )


@attrs.frozen
class GaveWay(Fielded):
    """Snapshots that are not added, since with them whole sources would find no knob.

    Args:
        snapshots: their names, as they would be.
        alone: the names of the setups that cannot be played alone without them.
        sources: the names of the sources that come to something for it; empty: with the snapshots
            no layout would meet every demand.
        of_base: that of them which would play the base alone; None: it is none of them.
    """

    snapshots: tuple[str, ...]
    alone: tuple[str, ...]
    sources: tuple[str, ...]
    of_base: str | None = None

    def __str__(self) -> str:
        lost = f"{listed(self.alone)} can no longer be played alone"
        if not self.alone:
            which = "Snapshot" if len(self.snapshots) == 1 else "Snapshots"
            lost = f"{which} {quoted(self.snapshots)} cannot be added"
        if not self.sources:
            return f"{lost}: what must have a knob would find none"
        return f"{lost}: else nothing of {listed(self.sources)} would find a knob"


@attrs.frozen
class Played(Fielded):
    """A snapshot that was grown or added so that all, the base and each source can be played.

    Args:
        snapshot: its name.
        what: ``takes in``, ``all``, ``base alone`` or ``source alone``.
        sources: the names of the sources that it is about.
        base: the name of the base.
    """

    snapshot: str
    what: str
    sources: tuple[str, ...]
    base: str

    def __str__(self) -> str:
        name = f"'{self.snapshot}'"
        if self.what == GROWN:
            return f"Snapshot {name} takes in {listed(self.sources)}"
        if self.what == ALL:
            return (
                f"No one snapshot of {self.base} moves all that its others move: {name} is added, "
                "and moves all"
            )
        alone = self.base if self.what == BASE else listed(self.sources)
        return f"Snapshot {name} moves nothing but {alone}"
