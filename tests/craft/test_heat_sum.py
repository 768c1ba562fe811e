"""The heat of real bakes against sums of our own: an integral of the Arrhenius law by numpy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.heat import is_limited, warm_up_min
from portal.craft.heat_sum import Baked, bake_at_200, heat_sum
from portal.craft.parts import Metal, PartKind, WheelBuild
from tests.craft.shelf import part, wheels

R = 8.314462618  # J/(mol K), CODATA
COOLER_J = 128_717  # measured on the usual wheel alloy (abstract, see data/heat.toml)


def rate(kelvin, energy):
    return np.exp(energy / R * (1 / 473.15 - 1 / kelvin))


def integral(celsius: float, minutes: float, warm_up: float, energy: float) -> float:
    """What softens while a part comes up to `celsius` and stays there, by the trapezoid rule."""
    t = np.linspace(0, warm_up, 200_001)
    at = celsius - (celsius - 20) * np.exp(-3.5 * t / warm_up)
    return float(
        np.trapezoid(rate(at + 273.15, energy), t) + minutes * rate(celsius + 273.15, energy)
    )


@pytest.mark.parametrize("mass", [1.0, 7.5, 10.0, 25.0, 60.0])
@pytest.mark.parametrize(("celsius", "minutes"), [(160, 20), (180, 7.5), (180, 15), (200, 10)])
def test_a_bake_is_the_integral_of_its_temperature(celsius, minutes, mass) -> None:
    exact = integral(celsius, minutes, warm_up_min(mass), COOLER_J)
    assert bake_at_200(Baked(celsius, minutes), mass) == pytest.approx(exact, rel=0.005)


def test_above_200_degrees_the_steeper_law_holds_and_errs_to_the_safe_side() -> None:
    # 250 °C: 30 min cost 25 % of hardness, 180 min 40 % (tuners' association); 200 °C: 180 min 5 %
    by_hand = 30 * np.exp(172_000 / R * (1 / 473.15 - 1 / 523.15))
    assert bake_at_200(Baked(250, 30), 1.0) == pytest.approx(by_hand, rel=0.1)


def test_the_load_that_was_once_accepted_is_far_beyond_any_limit() -> None:
    assert heat_sum([Baked(230, 180)], 10.0) > 1000


bakes = st.lists(st.builds(Baked, st.integers(120, 260), st.floats(0, 240)), min_size=1, max_size=6)
masses = st.floats(0.5, 80)


@given(bakes, masses, st.randoms())
def test_the_order_of_the_loads_does_not_matter(some, mass, chance) -> None:
    mixed = list(some)
    chance.shuffle(mixed)
    assert heat_sum(mixed, mass) == heat_sum(some, mass)


@given(bakes, masses, st.floats(0, 1), st.data())
def test_a_load_in_two_pieces_never_counts_for_less(some, mass, share, data) -> None:
    at = data.draw(st.integers(0, len(some) - 1))
    whole = some[at]
    first = Baked(whole.set_point_c, whole.minutes * share)
    second = Baked(whole.set_point_c, whole.minutes - first.minutes)
    apart = [*some[:at], first, second, *some[at + 1 :]]
    assert heat_sum(apart, mass) >= heat_sum(some, mass)


@given(bakes, masses, st.integers(120, 260), st.floats(0, 240))
def test_one_more_load_never_lowers_the_sum(some, mass, celsius, minutes) -> None:
    assert heat_sum([*some, Baked(celsius, minutes)], mass) >= heat_sum(some, mass)


@pytest.mark.parametrize(
    ("one", "limited"),
    [
        (wheels(), True),
        (wheels(build=WheelBuild.FORGED), True),
        (wheels(build=WheelBuild.STEEL), False),
        (wheels(build=WheelBuild.UNKNOWN, metal=Metal.UNKNOWN), True),
        (part(PartKind.CALIPER, metal=Metal.UNKNOWN), True),
        (part(PartKind.CALIPER, metal=Metal.CAST_IRON), False),
        (part(PartKind.FRAME, metal=Metal.FORGED_ALUMINIUM), True),
        (part(PartKind.PLATE, metal=Metal.CAST_ALUMINIUM), False),
    ],
)
def test_aluminium_on_which_lives_hang_is_limited_and_so_is_what_nobody_knows(one, limited) -> None:
    assert is_limited(one) is limited
