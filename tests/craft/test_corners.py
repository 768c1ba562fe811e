"""Corners are asked for where they count, and told as they were noted."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.bringing import Whereabouts
from portal.craft.corners import (
    FOUR,
    MARK_BEFORE,
    MARK_IF_KNOWN,
    Corner,
    Wheel,
    counts,
    rows_of,
    to_mark,
    twice,
)
from portal.craft.parts import Bringing, Declared, Item, PartKind, Remover
from portal.craft.refit import guide_for, told_at_hand_back
from portal.render.reader import Reader
from tests.craft.shelf import part, wheels
from tests.readers import INCHES, english, read

ON_TYRES = wheels(fitted=(Item.TYRE,), removers={})
RIMS = wheels(fitted=(Item.CENTRE_CAP,))


def declared(*sets, **told) -> Declared:
    return Declared(sets=sets, **told)


def test_marks_are_asked_of_whoever_takes_the_wheels_off_a_car() -> None:
    for one in (ON_TYRES, RIMS):
        asked = declared(one, bringing=Bringing.BARE, whereabouts=Whereabouts.ON_CAR)
        assert to_mark(asked) is MARK_BEFORE
    loose = declared(ON_TYRES, bringing=Bringing.COMPLETE, whereabouts=Whereabouts.OFF)
    assert to_mark(loose) is MARK_IF_KNOWN


def test_nobody_marks_bare_rims_a_whole_car_or_a_railing() -> None:
    bare = declared(RIMS, bringing=Bringing.BARE, whereabouts=Whereabouts.BARE)
    car = declared(ON_TYRES, bringing=Bringing.WHOLE_CAR, whereabouts=Whereabouts.ON_CAR)
    gate = declared(part(PartKind.RAILING), bringing=Bringing.BARE)
    assert [to_mark(one) for one in (bare, car, gate)] == [None, None, None]


@pytest.mark.parametrize(
    ("one", "way", "asked"),
    [
        (ON_TYRES, Bringing.COMPLETE, True),
        (RIMS, Bringing.WHOLE_CAR, True),
        (RIMS, Bringing.BARE, False),
        (ON_TYRES, Bringing.BARE, False),  # the customer's tyre shop takes them off
        (wheels(fitted=(Item.SENSOR,), removers={Item.SENSOR: Remover.US}), Bringing.BARE, True),
        (wheels(fitted=(Item.TYRE,), removers={Item.TYRE: Remover.YOU}), Bringing.COMPLETE, False),
        (part(PartKind.CALIPER), Bringing.WHOLE_CAR, False),
    ],
)
def test_the_corner_counts_where_a_tyre_or_sensor_comes_with_the_wheel(one, way, asked) -> None:
    assert counts(one, way) is asked


@given(st.integers(0, 400))
def test_a_row_names_a_corner_for_each_wheel(count: int) -> None:
    for row in rows_of(count):
        assert len(row) == count
        assert Corner.UNKNOWN not in row


def test_four_wheels_stand_as_people_walk_round_a_car_and_two_as_on_a_motorcycle() -> None:
    assert rows_of(4) == (FOUR,)
    assert (Corner.FRONT, Corner.REAR) in rows_of(2)
    assert rows_of(3) == rows_of(0) == ()


def same_car(wheels_home, bringing=Bringing.COMPLETE) -> str:
    steps = {s.key: s for s in guide_for(declared(ON_TYRES, bringing=bringing), wheels_home)}
    key = "on_the_car" if bringing is Bringing.WHOLE_CAR else "same_car"
    return english(steps[key].says)


def test_the_guide_names_the_corner_of_each_wheel_by_all_that_stands_on_it() -> None:
    home = [Wheel(1, Corner.FRONT_LEFT, tag="101"), Wheel(2, Corner.REAR_RIGHT, stamp="0419")]
    says = same_car(home)
    assert "part 1 (tag 101) → front left; part 2 (stamp 0419) → rear right." in says
    assert "handbook" not in says
    both = Wheel(3, Corner.SPARE, tag="7", stamp="K2")
    assert english(both.name) == "part 3 (tag 7, stamp K2)"


def test_what_nobody_knows_is_said_and_defers_to_marks_and_handbook() -> None:
    some = same_car([Wheel(1, Corner.FRONT_LEFT), Wheel(2, Corner.UNKNOWN), Wheel(3)])
    assert "part 1 → front left" in some
    assert "We don't know the corner of part 2; part 3" in some
    none = same_car([Wheel(1, Corner.UNKNOWN), Wheel(2)])
    assert "We don't know which corner" in none
    for says in (some, none, same_car([])):
        assert "vehicle handbook" in says
        assert "arrow" in says


def test_of_a_whole_car_the_guide_tells_that_we_fitted_the_wheels() -> None:
    says = same_car([Wheel(1, Corner.FRONT_LEFT)], Bringing.WHOLE_CAR)
    assert says.endswith("Each is at its corner: part 1 → front left.")
    whole = guide_for(declared(ON_TYRES, bringing=Bringing.WHOLE_CAR))
    keys = {step.key for step in whole}
    assert "recheck" in keys
    assert not keys & {"look", "mount", "torque", "same_car"}


# published distances: 25 miles to 200 km; 50 km and 160 km are the usual ones, the handbook wins
@pytest.mark.parametrize("bringing", [Bringing.COMPLETE, Bringing.WHOLE_CAR])
def test_guide_and_counter_tell_one_pair_of_distances(bringing) -> None:
    order = declared(ON_TYRES, bringing=bringing)
    (again,) = [step for step in guide_for(order) if step.key == "recheck"]
    for message in (again.says, again.title, told_at_hand_back(order)):
        for distance in ("50 km (30 mi)", "160 km (100 mi)"):
            assert distance in read(message, Reader(country="GB"))
        assert "160 km" in read(message, Reader("de", country="DE"))
        assert "mi)" not in read(message, Reader("de", country="DE"))
        assert "100 mi" in read(message, INCHES)
        assert "km" not in read(message, INCHES)
    assert told_at_hand_back(declared(part(PartKind.RAILING))) is None


FL, FR, RL, RR = FOUR


@pytest.mark.parametrize(
    ("noted", "found"),
    [
        ({1: FL, 2: FR, 3: RL, 4: RR}, ()),
        ({1: FL, 2: FR, 3: FL, 4: None}, ((FL, (1, 3)),)),
        # two cars
        ({n: FOUR[n % 4] for n in range(1, 9)}, ()),
        ({**{n: FOUR[n % 4] for n in range(1, 9)}, 8: FR}, ((FR, (1, 5, 8)),)),
        # of four wheels two are at the front; of a motorcycle's two only one
        ({1: Corner.FRONT, 2: Corner.FRONT, 3: Corner.REAR, 4: Corner.REAR}, ()),
        ({1: Corner.FRONT, 2: Corner.FRONT}, ((Corner.FRONT, (1, 2)),)),
        ({}, ()),
    ],
)
def test_more_wheels_than_can_sit_at_a_place_are_named(noted, found) -> None:
    assert twice(noted) == found
