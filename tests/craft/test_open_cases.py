"""Open answers: what they may turn out to be, and what makes the order take longer."""

import pytest

from portal.craft.old_finishes import route
from portal.craft.open_answers import (
    LARGE_RIM,
    Slow,
    may_be_chrome,
    reasons,
    size_open,
    slow_case,
    usual_case,
)
from portal.craft.parts import Layer, PartKind, Rim, Tyre, WheelBuild
from tests.craft.shelf import part, wheels

OPEN = (Layer.UNKNOWN,)


@pytest.mark.parametrize(
    ("one", "opened"),
    [
        (wheels(rim=None, tyre=None), True),
        (wheels(rim=Rim(18, 8), tyre=None), False),
        (wheels(rim=None, tyre=Tyre(225, 45, 17)), False),
        (part(PartKind.PLATE, size_mm=None), True),
        (part(PartKind.PLATE, size_mm=(300.0, 200.0, 3.0)), False),
        # a caliper that nobody measured has the usual size
        (part(PartKind.CALIPER, size_mm=None), False),
    ],
)
def test_a_size_is_open_until_one_is_known(one, opened) -> None:
    assert size_open(one) is opened
    assert (Slow.SIZE in reasons(one)) is opened


@pytest.mark.parametrize(
    ("one", "chrome"),
    [
        (wheels(layers=OPEN, build=WheelBuild.UNKNOWN), True),
        (wheels(layers=OPEN, build=None), True),
        (wheels(layers=OPEN, build=WheelBuild.CAST), False),
        (wheels(layers=(Layer.POWDER,), build=WheelBuild.UNKNOWN), False),
        (part(PartKind.BUMPER, layers=OPEN), True),
        (part(PartKind.TUBE, layers=OPEN), True),
        (part(PartKind.FRAME, layers=OPEN), True),
        (part(PartKind.PLATE, layers=OPEN), False),
    ],
)
def test_what_nobody_can_see_may_be_chrome(one, chrome) -> None:
    assert may_be_chrome(one) is chrome
    found = reasons(one) & {Slow.CHROME, Slow.LAYERS}
    assert found == ({Slow.CHROME} if chrome else {Slow.LAYERS} if one.layers == OPEN else set())


@pytest.mark.parametrize(
    "one",
    [wheels(layers=OPEN, build=None), part(PartKind.PLATE, layers=OPEN)],
    ids=["wheel", "plate"],
)
def test_the_slow_case_is_the_longest_of_all_that_it_may_be(one) -> None:
    """Open as it stands, or any old finish; chrome only where nobody would have seen it."""
    hidden = {Layer.PEELABLE, Layer.WRAP, Layer.BARE, Layer.UNKNOWN, Layer.CHROME}
    seen = [one, *(usual_case(one, (layer,)) for layer in Layer if layer not in hidden)]
    chrome = usual_case(one, (Layer.CHROME,))
    longest = max(route(case).outside_days for case in seen)
    if may_be_chrome(one):
        longest = max(longest, route(chrome).outside_days)
    assert route(slow_case(one)).outside_days == longest


def test_the_slow_case_keeps_what_is_known_and_has_a_large_rim() -> None:
    known = wheels(layers=(Layer.POWDER,))
    assert slow_case(known) == known
    assert slow_case(wheels(rim=None, tyre=None, layers=(Layer.POWDER,))).rim == LARGE_RIM
    assert slow_case(part(PartKind.PLATE, size_mm=None)).rim is None
    mixed = usual_case(wheels(layers=(Layer.WRAP, Layer.UNKNOWN)), (Layer.WRAP, Layer.POWDER))
    assert mixed.layers == (Layer.WRAP, Layer.POWDER)
    assert usual_case(known, (Layer.LIQUID_PAINT,)) == known
