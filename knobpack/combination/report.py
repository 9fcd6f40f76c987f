"""Report: where everything that was combined went, and what stayed behind, and why."""

from __future__ import annotations

import attrs

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.telling import Told, counted
from knobpack.wording import many, travel_text
from knobpack.words import Request, Setup, Travel, fields


@attrs.frozen
class Source:
    """A setup to bring voices from.

    Args:
        setup: the setup.
        voices: the names of the voices to bring; None: all of them.

    Raises:
        InputError: the setup has no such voice, or one is named twice.
    """

    setup: Setup = fields.one(Setup)
    voices: tuple[str, ...] | None = fields.names(optional=True)

    def __attrs_post_init__(self) -> None:
        known = {voice.name for voice in self.setup.voices}
        for position, name in enumerate(self.voices or ()):
            if name not in known:
                right = f"name a voice of the setup {self.setup.name!r}"
                raise InputError(f"Source.voices[{position}]", name, right)

    @property
    def picked(self) -> tuple[str, ...]:
        """The names of the voices to bring, in the order of the setup."""
        names = tuple(voice.name for voice in self.setup.voices)
        return names if self.voices is None else tuple(n for n in names if n in self.voices)


@attrs.frozen
class Carried:
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
        new_layer: the layer of the voice now, counted from 1.
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
    new_layer: int
    wanted: Travel
    new_knob: str | None
    new_travel: Travel | None
    beside: tuple[str, ...] = ()

    @property
    def full_name(self) -> str:
        """What it is called now: ``voice/destination``."""
        return f"{self.new_voice}/{self.destination}"


@attrs.frozen
class Brought:
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
class Left:
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
class Combination(Told):
    """Setups combined: the result, and where everything went.

    Args:
        base: the name of the base.
        request: what was asked of the allocation.
        allocation: the best layout, with its proof.
        setup: the result, all that is to be programmed; what the base had stands unchanged.
        carried: every destination that a knob was looked for: those of the base that were freed,
            then those of each source in order, by the routes of that source.
        brought: every voice, group and snapshot of the sources that is in the result.
        left: all that is not as it was in its setup, and why.
    """

    base: str
    request: Request = attrs.field(repr=False)
    allocation: Allocation
    setup: Setup = attrs.field(repr=False)
    carried: tuple[Carried, ...] = attrs.field(repr=counted)
    brought: tuple[Brought, ...] = attrs.field(repr=counted)
    left: tuple[Left, ...] = attrs.field(repr=counted)

    @property
    def sentences(self) -> tuple[str, ...]:
        """Where everything went, in plain sentences."""
        new = [each for each in self.carried if each.source != self.base]
        placed = sum(1 for each in new if each.new_knob)
        good = "proven best" if self.allocation.proven else "not proven best"
        found = [f"{placed} of {many(len(new), 'destination')} carried over, {good}."]
        found += [self._line(each) for each in self.carried]
        found += [f"{each}." for each in self.brought]
        found += [f"Left: {each}." for each in self.left]
        return tuple(found)

    def _line(self, each: Carried) -> str:
        old = "no layer" if each.old_layer is None else f"layer {each.old_layer}"
        knob = each.old_knob or "no knob"
        told = f"{each.source}, {old}, {knob}: {each.voice}/{each.destination}"
        if each.new_knob is None or each.new_travel is None:
            return f"{told} is left out: {self._why_out}."
        top = self.setup.surface.top
        if (each.source, each.old_knob) == (self.base, each.new_knob):
            told += f" stays there, {travel_text(each.new_travel, top)}"
        else:
            told += f" is now on layer {each.new_layer}, {each.new_knob}"
            told += f", {travel_text(each.new_travel, top)}"
        if each.new_travel != each.wanted:
            told += f", instead of {travel_text(each.wanted, top)}"
        return f"{told}." if not each.beside else f"{told}, shared with {', '.join(each.beside)}."

    @property
    def _why_out(self) -> str:
        if self.allocation.tiers[0].proven:
            return "no layout that meets every demand leaves out less"
        return "no layout was found that meets every demand and leaves out less"
