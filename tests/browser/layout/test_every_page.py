"""Every page in every state: nothing for axe to find, nothing too wide, too small or covered."""

import pytest

from tests.browser.layout.judge import ALL_RULES, Judge

WIDTHS = (1280, 768, 390, 360, 320)
pytestmark = pytest.mark.browser


def told(faults: list[str]) -> str:
    return "\n".join(faults)


def test_axe_finds_nothing_in_light(judge: Judge) -> None:
    judge.as_phone()
    faults = judge.axe(ALL_RULES)
    assert not faults, told(faults)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_colour_is_too_weak(judge: Judge, scheme: str) -> None:
    faults = judge.colours(scheme)
    assert not faults, told(faults)


def test_no_text_is_lost_under_forced_colours(judge: Judge) -> None:
    faults = judge.forced()
    assert not faults, told(faults)


def test_no_width_makes_it_scroll_sideways(judge: Judge) -> None:
    faults = []
    for width in WIDTHS:
        judge.as_phone(width)
        faults += [f"{width}: {fault}" for fault in judge.measure("sideways")]
    assert not faults, told(faults)


def test_wider_spacing_of_the_text_cuts_nothing_and_needs_no_sideways_scroll(judge: Judge) -> None:
    judge.as_phone(320)
    judge.measure("spaced", True)
    faults = judge.measure("sideways") + judge.measure("cut")
    judge.measure("spaced", False)
    assert not faults, told(faults)


def test_a_thumb_finds_every_target(judge: Judge) -> None:
    judge.as_phone()
    faults = judge.measure("small", 44)
    assert not faults, told(faults)


def test_the_main_action_is_under_the_thumb(judge: Judge) -> None:
    """On pages of the customer's it sticks to the foot, or stands in the lower half."""
    judge.as_phone()
    action = judge.measure("mainAction")
    if judge.shown.room == "intake" and action:
        assert action["sticks"] or action["at"] > 0.5, action
    if judge.shown.name == "landing":
        assert 0.5 < action["at"] < 1, action


@pytest.mark.parametrize("size", [(390, 844), (1280, 720), (320, 256)], ids=str)
def test_what_has_focus_is_marked_and_never_covered(judge: Judge, size: tuple[int, int]) -> None:
    judge.as_phone(*size)
    judge.page.keyboard.press("Tab")
    faults = judge.measure("walk")
    assert not faults, told(faults)
