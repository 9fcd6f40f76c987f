"""Scaling against printed tables, and against values computed by another implementation.

The sources: M2-115-U v1.0.2, "MIDI 2.0 Bit Scaling and Resolution" (2023-12-19), and M2-104-UM
v1.1.2, appendix D. What is marked *computed* is printed nowhere: it was reckoned by a clean
implementation and cross-checked with a closed form.
"""

from __future__ import annotations

import numpy as np
import pytest

from knobpack.positions import scaled, scaled_array, scaled_travel, zero_extended
from knobpack.words import Travel
from tests.positions.standard import by_the_loop, by_the_pattern, by_the_prose

TABLE_5 = [(0, 0), (5, 2560), (30, 15360), (32, 16384), (64, 32768), (70, 35888)]
TABLE_5 += [(96, 49412), (120, 61895), (127, 65535)]
TABLE_6 = [(0, 0), (5, 167772160), (30, 1006632960), (32, 1073741824), (64, 2147483648)]
TABLE_6 += [(70, 2352005900), (96, 3238268993), (120, 4056358001), (127, 4294967295)]
TABLE_8 = [(5120, 10), (32768, 64), (44730, 87), (65535, 127)]
D_1_3 = [(0x0A, 0x1400), (0x40, 0x8000), (0x57, 0xAEBA), (0x7F, 0xFFFF)]

COMPUTED_UP = {
    (7, 8): [(0, 0), (1, 2), (63, 126), (64, 128), (65, 130), (126, 253), (127, 255)],
    (7, 10): [(0, 0), (1, 8), (63, 504), (64, 512), (65, 520), (126, 1015), (127, 1023)],
    (7, 14): [
        *((0, 0), (1, 128), (63, 8064), (64, 8192), (65, 8322), (126, 16253), (127, 16383)),
    ],
    (7, 16): [
        *((0, 0), (1, 0x0200), (63, 0x7E00), (64, 0x8000), (65, 0x8208), (126, 0xFDF7)),
        (127, 0xFFFF),
    ],
    (7, 32): [
        *((0, 0), (1, 0x02000000), (63, 0x7E000000), (64, 0x80000000), (65, 0x82082082)),
        *((126, 0xFDF7DF7D), (127, 0xFFFFFFFF)),
    ],
    (10, 14): [
        *((0, 0), (1, 16), (511, 8176), (512, 8192), (513, 8208), (1022, 16367), (1023, 16383)),
    ],
    (14, 16): [
        *((0, 0), (1, 4), (8191, 0x7FFC), (8192, 0x8000), (8193, 0x8004), (16382, 0xFFFB)),
        (16383, 0xFFFF),
    ],
}
COMPUTED_DOWN = {
    (10, 7): [
        *((0, 0), (7, 0), (8, 1), (511, 63), (512, 64), (513, 64), (1022, 127), (1023, 127)),
    ],
    (14, 7): [(127, 0), (128, 1), (8191, 63), (8192, 64), (16382, 127), (16383, 127)],
    (14, 10): [(15, 0), (16, 1), (8191, 511), (8192, 512), (16383, 1023)],
    (32, 7): [
        *((0x01FFFFFF, 0), (0x02000000, 1), (0x7FFFFFFF, 63), (0x80000000, 64)),
        (0xFFFFFFFF, 127),
    ],
    (32, 14): [
        *((0x3FFFF, 0), (0x40000, 1), (0x7FFFFFFF, 8191), (0x80000000, 8192)),
        (0xFFFFFFFF, 16383),
    ],
}
SCALED = [
    pytest.param(widths, rows, id=name)
    for name, widths, rows in [
        ("M2-115-U table 5", (7, 16), TABLE_5),
        ("M2-115-U table 6", (7, 32), TABLE_6),
        ("M2-115-U table 8", (16, 7), TABLE_8),
        ("M2-104-UM D.1.3", (7, 16), D_1_3),
        *((f"computed {a} to {b}", (a, b), rows) for (a, b), rows in COMPUTED_UP.items()),
        *((f"computed {a} to {b}", (a, b), rows) for (a, b), rows in COMPUTED_DOWN.items()),
    ]
]


@pytest.mark.parametrize(("widths", "rows"), SCALED)
def test_scaling_gives_the_published_values(
    widths: tuple[int, int], rows: list[tuple[int, int]]
) -> None:
    assert [(value, scaled(value, *widths)) for value, _ in rows] == rows
    given = np.array([value for value, _ in rows])
    assert scaled_array(given, *widths).tolist() == [result for _, result in rows]


@pytest.mark.parametrize("rows", [TABLE_5, D_1_3])
def test_the_oracles_of_these_tests_give_the_printed_values(rows: list[tuple[int, int]]) -> None:
    assert [(value, by_the_loop(value, 7, 16)) for value, _ in rows] == rows
    assert [(value, by_the_pattern(value, 7, 16)) for value, _ in rows] == rows


def test_the_centre_stays_the_centre() -> None:
    # M2-115-U table 4 prints these centres, but for that of 10 bits, which is computed.
    centres = {7: 0x40, 10: 0x200, 14: 0x2000, 16: 0x8000, 32: 0x80000000}
    for from_bits, centre in centres.items():
        for to_bits, other in centres.items():
            assert scaled(centre, from_bits, to_bits) == other


def test_one_bit_becomes_nothing_or_all_ones() -> None:
    # M2-115-U 3.3.
    for bits in range(1, 33):
        assert scaled(0, 1, bits) == 0
        assert scaled(1, 1, bits) == 2**bits - 1
        assert scaled_array(np.array([0, 1]), 1, bits).tolist() == [0, 2**bits - 1]


def test_the_least_velocity_that_sounds() -> None:
    assert scaled(0x01, 7, 16) == 0x0200  # M2-104-UM D.3.1


@pytest.mark.parametrize(
    ("value", "pair"),
    [
        *((1, (1, 0)), (63, (63, 0)), (64, (64, 0)), (65, (65, 2)), (126, (126, 125))),
        (127, (127, 127)),
    ],
)
def test_seven_bits_as_a_pair_of_bytes(value: int, pair: tuple[int, int]) -> None:
    assert divmod(scaled(value, 7, 14), 128) == pair  # computed


@pytest.mark.parametrize(
    ("value", "pair"),
    [
        *((1, (0, 16)), (511, (63, 112)), (512, (64, 0)), (513, (64, 16)), (1022, (127, 111))),
        (1023, (127, 127)),
    ],
)
def test_ten_bits_as_a_pair_of_bytes(value: int, pair: tuple[int, int]) -> None:
    assert divmod(scaled(value, 10, 14), 128) == pair  # computed


def test_a_receiver_of_the_upper_byte_alone_is_right() -> None:
    # Computed, from M2-115-U 3.3.1: the value becomes the top bits.
    assert all(scaled(value, 7, 14) >> 7 == value for value in range(128))
    assert all(scaled(value, 10, 14) >> 7 == value >> 3 for value in range(1024))


def test_half_a_travel_of_seven_bits_is_half_a_travel_of_ten() -> None:
    # Computed, from M2-115-U 3.2: centre to centre, top to top.
    assert scaled(64, 7, 10) == 512
    assert scaled_travel(Travel(0, 64), 7, 10) == Travel(0, 512)
    assert scaled_travel(Travel(127, 64), 7, 10) == Travel(1023, 512)
    assert scaled_travel(Travel(1023, 512), 10, 7) == Travel(127, 64)


ZERO_EXTENDED = {
    "M2-115-U table 9": ((7, 16), [(10, 5120), (64, 32768), (87, 44544), (127, 65024)]),
    "M2-115-U table 10": (
        (16, 7),
        [
            *((5120, 10), (5631, 11), (32768, 64), (44544, 87), (44730, 87), (44800, 88)),
            *((65024, 127), (65535, 127)),
        ],
    ),
    "computed 7 to 14": (
        (7, 14),
        [(1, 128), (63, 8064), (64, 8192), (65, 8320), (126, 16128), (127, 16256)],
    ),
    "computed 14 to 7": (
        (14, 7),
        [
            *((63, 0), (64, 1), (8127, 63), (8128, 64), (8255, 64), (8256, 65)),
            *((16319, 127), (16383, 127)),
        ],
    ),
}


@pytest.mark.parametrize("name", ZERO_EXTENDED)
def test_zero_extension_gives_the_published_values(name: str) -> None:
    widths, rows = ZERO_EXTENDED[name]
    assert [(value, zero_extended(value, *widths)) for value, _ in rows] == rows


def test_the_upper_byte_alone_never_reaches_the_top() -> None:
    # MIDI 1.0 (1996), table II note 4: a received upper byte sets the lower one to 0.
    assert zero_extended(127, 7, 14) == 16256
    assert scaled(127, 7, 14) == 16383


def test_the_errata_of_the_standard_are_not_followed() -> None:
    # M2-115-U 3.3.1: the prose removes the top two bits, its code and tables the top one.
    wrong = [value for value, printed in TABLE_5 if by_the_prose(value, 7, 16) != printed]
    assert wrong == [70, 96, 120]
    # Section 4 prints 0xFE01F803 for this; its own algorithm gives what stands here (computed).
    assert scaled(0xFE00, 16, 32) == 0xFE00FC01
    assert zero_extended(0xFE00, 16, 32) == 0xFE000000
