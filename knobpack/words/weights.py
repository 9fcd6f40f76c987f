"""Weights: what each thing a layout does badly costs, in points of its tier."""

from __future__ import annotations

import attrs

from knobpack.text.shown import Fielded
from knobpack.words import converters, fields


@attrs.frozen
class Weights(Fielded):
    """The weights of every tier, in points. Points of different tiers are never added up.

    Args:
        unplaced: tier *unplaced*, for a destination left out, by priority 1 to 4. Each class
            outweighs three of the next, so one essential input outweighs any three that rank
            high. What is hidden (priority 5) costs nothing there; see :attr:`hidden`.
        mix_kinds: tier *sharing*, for each kind more than one on a knob.
        mix_voices: tier *sharing*, for each voice more than one on a knob.
        join: tier *sharing*, for each load more than one on a knob. A load is what one knob of a
            source carried, what a preferred ``Together`` names or the base keeps on one knob, and
            a destination by itself that came with none of that. It outweighs what
            could be saved by mixing kinds and voices on one knob instead of two: while a knob is
            free, nothing that had a knob of its own shares one.
        heap: tier *sharing*, for each two loads more than one on a knob: the third costs so much
            more than the second, the fourth twice as much more. So where knobs run out loads are
            spread over them, and not heaped on one.
        essential: tier *sharing*, for each load more than one on a knob that has something
            essential (priority 1) there: what is essential shares with what is not, before two that
            are essential share.
        company: tier *sharing*, for a knob with something essential and something that is not, so
            that this shares with its like first; and for each voice with something essential on a
            knob on which there is another voice.
        crowd: tier *sharing*, for each destination more than one on a knob.
        travel: tier *sharing*, for each hundredth of full travel by which a knob's travel misses
            the one wanted, by priority 1 to 5. A miss is |start - start'| + |end - end'| and what
            is wanted and out of reach, so a full travel that is reversed, or stands still, misses
            by 200. What all on a knob miss is added up, and each class counts as much as two of
            the next: the many that matter less do not take its travel from what matters. Where
            both sides come to the same, the more important has its own.
        sequence: tier *layout*, for each bundle that does not come directly after the one before
            it in their source; twice that where it comes earlier.
        voice_runs: tier *layout*, for each place more than one where a voice is found: a run is
            a row of knobs side by side that each drive something of it.
        group_runs: tier *layout*, the same for each group.
        favour: tier *layout*, for each step down the order of reach, times 5 - priority.
        habit: tier *layout*, for a destination off the knobs that usually carry its kind.
        held: tier *sharing*, for each way to stand more than one on a knob. How something stands in
            the snapshots that hold it is known of what a knob drove already, where they store the
            position of that knob; a level of which nothing is known is to be silent there. A knob
            stands at one position, so that something else would sound, or sound no more.

    Raises:
        InputError: a weight is not a whole number from 0 to 10,000, or a list by priority does
            not hold one for each.
    """

    unplaced: tuple[int, ...] = attrs.field(
        default=(256, 64, 16, 4), converter=converters.wholes, validator=fields.by_priority(4)
    )
    mix_kinds: int = attrs.field(default=300, converter=converters.whole, validator=fields.weight())
    mix_voices: int = attrs.field(
        default=200, converter=converters.whole, validator=fields.weight()
    )
    join: int = attrs.field(default=2000, converter=converters.whole, validator=fields.weight())
    heap: int = attrs.field(default=800, converter=converters.whole, validator=fields.weight())
    essential: int = attrs.field(
        default=1000, converter=converters.whole, validator=fields.weight()
    )
    company: int = attrs.field(default=300, converter=converters.whole, validator=fields.weight())
    crowd: int = attrs.field(default=100, converter=converters.whole, validator=fields.weight())
    travel: tuple[int, ...] = attrs.field(
        default=(16, 8, 4, 2, 1), converter=converters.wholes, validator=fields.by_priority(5)
    )
    sequence: int = attrs.field(default=1000, converter=converters.whole, validator=fields.weight())
    voice_runs: int = attrs.field(default=60, converter=converters.whole, validator=fields.weight())
    group_runs: int = attrs.field(default=20, converter=converters.whole, validator=fields.weight())
    favour: int = attrs.field(default=1, converter=converters.whole, validator=fields.weight())
    habit: int = attrs.field(default=10, converter=converters.whole, validator=fields.weight())
    held: int = attrs.field(default=500, converter=converters.whole, validator=fields.weight())

    @property
    def hidden(self) -> int:
        """Tier *sharing*, for a hidden destination left out: less than ``crowd``, in points.

        So it is never worth joining anything to place one.
        """
        return max(0, self.crowd - 1)

    def omission(self, priority: int) -> int:
        """Tier *unplaced*: what a destination costs that is left out.

        Args:
            priority: 1 (essential) to 5 (hidden).

        Returns:
            Points; 0 for what is hidden.
        """
        return (*self.unplaced, 0)[priority - 1]
