"""Mends of what a setup says besides: layers, labels, numbers, ranges."""

from __future__ import annotations

import attrs

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.words import KnobLabel, Setup, Span
from tests.auditing.altering import in_voices, mends


@mends(causes.SHARED_LAYER, causes.LAYER_BEYOND)
def _(setup: Setup, finding: Finding) -> Setup:
    leave = finding.voices[1:] or finding.voices
    to = dict(zip(leave, finding.free_layers, strict=False))
    assert all(f"put '{name}' at layer {layer}" in finding.mend for name, layer in to.items())
    out = [name for name in leave if name not in to]
    assert all(f"'{name}'" in finding.mend.split("leave ")[-1] for name in out)
    voices = tuple(
        attrs.evolve(voice, layer=to.get(voice.name, voice.layer))
        for voice in setup.voices
        if voice.name not in out
    )
    return attrs.evolve(setup, voices=voices)


@mends(causes.SAME_NUMBER)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "let each send a number of its own"
    own = dict(zip(finding.knobs[1:], range(64, 96), strict=False))
    used = {number for each in setup.sending for number in each.numbers}
    assert not used & set(own.values())
    return attrs.evolve(
        setup,
        sending=tuple(
            attrs.evolve(each, number=own[each.knob], fine=False) if each.knob in own else each
            for each in setup.sending
        ),
    )


@mends(causes.SAME_LABEL)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "give each a label of its own"
    return _relabelled(setup, {knob: f"x{knob}" for knob in finding.knobs[1:]})


@mends(causes.LONG_LABEL)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == f"shorten it to {finding.numbers[1]} or fewer"
    return _relabelled(setup, {knob: f"x{knob}" for knob in finding.knobs})


def _relabelled(setup: Setup, own: dict[str, str]) -> Setup:
    labels = tuple(KnobLabel(each.knob, own.get(each.knob, each.label)) for each in setup.labels)
    return attrs.evolve(setup, labels=labels)


@mends(causes.STRAY_PANEL)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "take it away" in finding.mend
    return attrs.evolve(
        setup,
        labels=tuple(each for each in setup.labels if each.knob not in finding.missing),
        sending=tuple(each for each in setup.sending if each.knob not in finding.missing),
    )


@mends(causes.NO_KEY, causes.NO_VELOCITY)
def _(setup: Setup, finding: Finding) -> Setup:
    what = "keys" if finding.cause == causes.NO_KEY else "velocities"
    return in_voices(setup, finding, **{what: Span(1, 1)})


@mends(causes.NO_POSITION)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "let it send another number"
    sending = tuple(
        attrs.evolve(each, number=70 + setup.surface.knob_names.index(each.knob), fine=False)
        if each.knob in finding.knobs
        else each
        for each in setup.sending
    )
    return attrs.evolve(setup, sending=sending)
