"""A bake against what the powder asks for: too short, as planned, longer, past what it bears."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.bakes import Bake, Fit, Schedule, fit

FULL = Schedule(Bake.CURE, 180, 15, 15)
GEL = Schedule(Bake.GEL, 180, 7.5, 15)
PRE_BAKE = Schedule(Bake.PRE_BAKE, 180, 20)


# one polyester: 10 min at 400 °F, 15 at 375 °F, 20 at 345 °F (trade forum, as quoted). From the
# coolest to the hottest the time halves; in the middle the straight rule errs by a sixth
@pytest.mark.parametrize(
    ("celsius", "minutes", "near"), [(204.4, 10, 0.02), (190.6, 15, 0.17), (173.9, 20, 0)]
)
def test_the_published_schedules_of_one_powder_cure_it_alike(celsius, minutes, near) -> None:
    published = Schedule(Bake.CURE, 173.9, 20, 20)
    assert published.cured(celsius, minutes) == pytest.approx(1, abs=near + 0.1)


@pytest.mark.parametrize(
    ("planned", "celsius", "minutes", "found"),
    [
        (FULL, 180, 15, Fit.SUITS),
        (FULL, 180, 14.9, Fit.SHORT),
        (FULL, 179, 30, Fit.SHORT),
        (FULL, 180, 16, Fit.OVER),
        (FULL, 185, 15, Fit.OVER),
        (FULL, 180, 30, Fit.OVER),
        (FULL, 180, 31, Fit.PAST),
        (FULL, 210, 15, Fit.OVER),
        (FULL, 211, 15, Fit.PAST),
        # 50 minutes in place of 15 to 20 dulled a glossy powder (dameipowdercoating.com)
        (FULL, 180, 50, Fit.PAST),
        # half to six tenths of the cure (galport.com): no longer without a yes
        (GEL, 180, 8, Fit.SUITS),
        (GEL, 180, 9, Fit.OVER),
        (GEL, 180, 14, Fit.OVER),
        # cured fully, the next coat holds badly on it (trans-acc.com)
        (GEL, 180, 15, Fit.PAST),
        (GEL, 210, 7.5, Fit.PAST),
        (PRE_BAKE, 180, 19, Fit.SHORT),
        (PRE_BAKE, 180, 20, Fit.SUITS),
        (PRE_BAKE, 200, 60, Fit.OVER),
    ],
)
def test_a_bake_is_judged_by_its_schedule(planned, celsius, minutes, found) -> None:
    assert fit(planned, celsius, minutes) is found


def test_what_the_shop_lets_bakes_differ_by_needs_no_yes() -> None:
    assert fit(FULL, 190, 15, apart_c=10) is Fit.SUITS
    assert fit(FULL, 191, 15, apart_c=10) is Fit.OVER
    # but never more than the powder bears
    assert fit(GEL, 220, 8, apart_c=50) is Fit.PAST


ORDER = [Fit.SHORT, Fit.SUITS, Fit.OVER, Fit.PAST]


@given(
    st.sampled_from([FULL, GEL, PRE_BAKE]),
    st.floats(180, 260),
    st.floats(1, 120),
    st.floats(0, 60),
    st.floats(0, 40),
)
def test_longer_or_hotter_is_never_judged_shorter(planned, celsius, minutes, longer, hotter):
    at = ORDER.index(fit(planned, celsius, minutes))
    assert ORDER.index(fit(planned, celsius, minutes + longer)) >= at
    assert ORDER.index(fit(planned, celsius + hotter, minutes)) >= at


@given(st.floats(0.5, 240))
def test_the_minutes_to_set_are_whole_and_never_fewer(minutes) -> None:
    planned = Schedule(Bake.CURE, 180, minutes, minutes)
    assert fit(planned, 180, planned.whole_min) is Fit.SUITS
