"""Curves against what is published.

The sources: DLS 2.2, 1.6.4 and 1.6.5 (the formulas); SoundFont 2.04, 8.4 (amounts of the default
modulators); GM2, 3.3.4 and 3.3.6 (printed levels). The reference table and whatever is marked
*computed* were reckoned from the formulas by a clean implementation and are printed nowhere.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from knobpack.positions import Curve, reach
from knobpack.positions.curves import Shape
from knobpack.words import Travel

AT = (0, 1, 64, 126, 127)
REFERENCE: dict[tuple[Shape, bool, bool], tuple[float, ...]] = {  # shape, bipolar, inverted
    ("linear", False, False): (0, 0.007812, 0.5, 0.984375, 0.992188),
    ("linear", False, True): (0.992188, 0.984375, 0.492188, 0.007812, 0),
    ("linear", True, False): (-1, -0.984375, 0, 0.968750, 0.984375),
    ("linear", True, True): (0.984375, 0.968750, -0.015625, -0.984375, -1),
    ("concave", False, False): (0, 0.001430, 0.126860, 0.876585, 1),
    ("concave", False, True): (1, 0.876585, 0.124010, 0.001430, 0),
    ("concave", True, False): (-1, -0.751156, 0.001430, 0.751156, 1),
    ("concave", True, True): (1, 0.751156, -0.001430, -0.751156, -1),
    ("convex", False, False): (0, 0.123415, 0.875990, 0.998570, 1),
    ("convex", False, True): (1, 0.998570, 0.873140, 0.123415, 0),
    ("convex", True, False): (-1, -0.997128, 0.123415, 0.997128, 1),
    ("convex", True, True): (1, 0.997128, -0.123415, -0.997128, -1),
    ("switch", False, False): (0, 0, 1, 1, 1),
    ("switch", False, True): (1, 1, 0, 0, 0),
    ("switch", True, False): (-1, -1, 1, 1, 1),
    ("switch", True, True): (1, 1, -1, -1, -1),
}


@pytest.mark.parametrize("key", REFERENCE)
def test_the_reference_table_at_seven_bits(key: tuple[Shape, bool, bool]) -> None:
    curve = Curve(*key)
    expected = pytest.approx(REFERENCE[key], abs=6e-7)  # it has six digits
    assert [curve.output(position, 7) for position in AT] == expected
    assert curve.outputs(np.array(AT), 7).tolist() == expected


@pytest.mark.parametrize("bits", [7, 14])
def test_the_formulas_as_the_standard_says_them(bits: int) -> None:
    # DLS 2.2, 1.6.5, word for word, up to MaxValue.
    whole = 2**bits
    most = {7: 127, 14: 16256}[bits]
    for i in range(most + 1):
        assert Curve("linear").output(i, bits) == i / whole
        assert Curve("linear", bipolar=True).output(i, bits) == 2 * i / whole - 1
        assert Curve("switch").output(i, bits) == (0 if i < whole / 2 else 1)
        concave = 1.0
        if i <= (1 - 10 ** (-12 / 5)) * most:
            concave = -(5 / 12) * math.log10(1 - i / most)
        assert abs(Curve("concave").output(i, bits) - concave) < 1e-12
        convex = 0.0
        if i >= 10 ** (-12 / 5) * most:
            convex = 1 + (5 / 12) * math.log10(i / most)
        assert abs(Curve("convex").output(i, bits) - convex) < 1e-12


def test_the_attenuation_of_a_key_struck_softer() -> None:
    # DLS level 1 has the attenuation 20 log10(127²/x²) dB: as a share of 96 dB it is the concave
    # curve, inverted (computed). It has no value at 0, where the curve is silent.
    curve = Curve("concave", inverted=True)
    for x in range(1, 128):
        attenuation = 20 * math.log10(127**2 / x**2)
        assert 96 * curve.output(x, 7) == pytest.approx(attenuation, abs=1e-12)
    assert curve.output(0, 7) == 1


def test_the_other_form_of_the_concave_curve() -> None:
    # Computed: -20/96 log10((127 - x)²/127²), in wide use, is the formula of DLS 2.2.
    for x in range(127):
        other = -20 / 96 * math.log10((127 - x) ** 2 / 127**2)
        assert Curve("concave").output(x, 7) == pytest.approx(other, abs=1e-12)


def test_convex_is_concave_seen_from_the_other_end() -> None:
    # SoundFont 2.04, 8.2.4: "same curve … start and end points reversed". All, saturated or not.
    for x in range(128):
        mirrored = 1 - Curve("concave").output(127 - x, 7)
        assert Curve("convex").output(x, 7) == pytest.approx(mirrored, abs=1e-12)


def test_at_14_bits_the_concave_curve_lies_flat_before_its_end() -> None:
    # Computed.
    assert Curve("concave").output(16191, 14) < 1
    assert Curve("concave").output(16192, 14) == 1


def test_levels_as_they_are_printed() -> None:
    # GM2, 3.3.4: 96 → -4.9 dB, 64 → -11.9, 32 → -23.9, 16 → -36.0; 3.3.6: (64, 64) → -23.8 and
    # (32, 96) → -28.8. Its law, 40 log10(x/127), is that of the inverted concave curve.
    def level(x: int) -> float:
        return -reach(Travel(x, x), Curve("concave", inverted=True), 96, 7).end

    printed = {127: 0, 96: -4.9, 64: -11.9, 32: -23.9, 16: -36.0}
    assert {x: round(level(x), 1) for x in printed} == printed
    assert round(level(64) + level(64), 1) == -23.8
    assert round(level(32) + level(96), 1) == -28.8


def test_the_amounts_of_default_modulators() -> None:
    # SoundFont 2.04, 8.4.4, 8.4.8 and 8.4.10 give the amounts; the results are computed.
    full = Travel.full(7)
    assert reach(full, Curve("linear"), 50, 7).end == 49.609375  # modulation wheel, cents
    assert reach(full, Curve("linear"), 200, 7).end == 198.4375  # reverb send, 0.1 %
    wheel = Curve("linear", bipolar=True)
    sensitivity = 12700 * Curve("linear").output(2, 7)
    bend = reach(Travel.full(14), wheel, sensitivity, 14)
    assert bend.start == -198.4375
    assert bend.end == pytest.approx(198.41327, abs=1e-5)
    assert reach(Travel(8192, 8192), wheel, sensitivity, 14).end == 0


def test_the_errata_of_the_standards_are_not_followed() -> None:
    # SoundFont 2.04, 9.5.3, table 2 says 0.992 for the top of a bipolar line; a line gives less.
    assert Curve("linear", bipolar=True).output(127, 7) == 126 / 128
    # 8.2.4 prints log(sqrt(value²)/(max value)²), which is below 0 everywhere.
    assert math.log10(math.sqrt(126**2) / 127**2) < 0 <= Curve("concave").output(126, 7)
