"""Areas and volumes of parts that are no wheels, each added up by hand from its tubes and faces.

The shares and thicknesses are those of `shapes.toml`, common practice; mm² and mm³.
"""

from math import pi

import pytest

from portal.craft.other_shapes import other_shape
from portal.craft.parts import Making, PartKind

BY_HAND = [
    # 45 mm across and 3 mm thick: ring of 22.5² − 19.5² = 126
    (PartKind.TUBE, (50, 1000, 40), (45_000 + 2 * 126) * pi, 126_000 * pi),
    # a bar of 4 mm is solid
    (PartKind.TUBE, (1000, 4, 4), (4_000 + 2 * 4) * pi, 4_000 * pi),
    (PartKind.PLATE, (3, 300, 200), 2 * (60_000 + 900 + 600), 180_000),
    # open on 400 × 300: 120,000 + 2 × 200 × 700
    (PartKind.BOX, (200, 400, 300), 2 * 400_000, 400_000 * 2),
    # 1600 × 1.1 long, 400 + 100 high
    (PartKind.BUMPER, (1600, 400, 100), 2 * 880_000, 880_000 * 2),
    # 6 m of square rail of 40; 16 bars of 920 × Ø 16
    (
        PartKind.RAILING,
        (2000, 1000, 40),
        960_000 + 16 * 920 * 16 * pi,
        960_000 * 2 + 16 * 920 * 64 * pi,
    ),
    # too short for a bar
    (PartKind.RAILING, (100, 60, 40), 2 * 160 * 160, 2 * 160 * 160 * 2),
    # 2.3 × 1600 of Ø 32; a wide one has 1.8 times that
    (PartKind.FRAME, (1000, 120, 600), 3_680 * 32 * pi, 3_680 * 32 * pi * 1.8),
    (PartKind.FRAME, (1000, 300, 600), 6_624 * 32 * pi, 6_624 * 32 * pi * 1.8),
    (PartKind.FRAME, (1000, 200, 600), 3_680 * 32 * pi, 3_680 * 32 * pi * 1.8),
    # seat 500 × 400, back 500 × 450; legs 2700, frames 1800, arms 800 + 450
    (
        PartKind.CHAIR,
        (500, 400, 900),
        2 * 191_250 + 5_750 * 22 * pi,
        (191_250 + 5_750 * 22 * pi) * 1.5,
    ),
    # seat 1500 × 600, back 1500 × 425; legs 2550, frames 4200, arms 1200 + 425
    (
        PartKind.BENCH,
        (1500, 600, 850),
        2 * 691_875 + 8_375 * 25 * pi,
        (691_875 + 8_375 * 25 * pi) * 1.5,
    ),
    # top 1200 × 800, legs 2960, frame 4000
    (
        PartKind.TABLE,
        (1200, 800, 740),
        2 * 672_000 + 6_960 * 30 * pi,
        (672_000 + 6_960 * 30 * pi) * 1.5,
    ),
]
OTHER = [
    # a box of 2 × (500,000 + 300,000 + 150,000) around it
    (Making.SHEET, (1000, 500, 300), 1_900_000 * 1.6, 1_900_000 * 1.6),
    (Making.SHEET, (100, 100, 1), 20_400 * 1.6, 10_000),  # no more metal than there is room
    (Making.CASTING, (1000, 500, 300), 1_900_000 * 1.1, 150_000_000 * 0.12),
    (Making.UNKNOWN, (1000, 500, 300), 1_900_000 * 1.1, 1_900_000 * 1.1 / 2 * 4),
    (Making.TUBES, (1000, 500, 300), 7_200 * 30 * pi, 7_200 * 30 * pi * 2),
    (Making.TUBES, (1000, 500, 20), 6_080 * 20 * pi, 6_080 * 20 * pi * 2),
]


@pytest.mark.parametrize(("kind", "size", "area", "volume"), BY_HAND)
def test_a_shape_is_the_sum_of_what_it_is_made_of(kind, size, area, volume) -> None:
    found = other_shape(kind, size)
    assert (found.area_mm2, found.volume_mm3) == pytest.approx((area, volume))


@pytest.mark.parametrize(("made", "size", "area", "volume"), OTHER)
def test_what_is_only_described_is_the_share_of_its_space(made, size, area, volume) -> None:
    found = other_shape(PartKind.OTHER, size, made)
    assert (found.area_mm2, found.volume_mm3) == pytest.approx((area, volume))


@pytest.mark.parametrize(("iron", "share"), [(False, 0.38), (True, 0.22)])
def test_a_caliper_is_a_share_of_its_box(iron, share) -> None:
    found = other_shape(PartKind.CALIPER, (280, 130, 110), iron=iron)
    assert (found.area_mm2, found.volume_mm3) == pytest.approx((179_300, 4_004_000 * share))
