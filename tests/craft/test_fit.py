"""What a film does to fits."""

from itertools import product

import pytest

from portal.craft.answers import About, CautionKind
from portal.craft.cautions import of_fit
from portal.craft.finishes import coat_plan
from portal.craft.fit import brake_gap, clearance_left_mm, masks
from portal.craft.parts import BareZone, Metal, PartKind, System, WheelBuild
from portal.craft.tables import toml_table
from tests.craft.shelf import SHELF, finish, part, wheels
from tests.readers import english


def zones(part_set, plan=None):
    return {mask.zone: mask for mask in masks(part_set, plan)}


# geometry: a film lies on both ends of a diameter
@pytest.mark.parametrize(
    ("before", "film", "walls", "left"),
    [(0.1, 75, 2, -0.05), (0.1, 50, 2, 0.0), (0.2, 90, 1, 0.11), (0.0, 60, 2, -0.12)],
)
def test_two_films_on_a_diameter_take_twice_their_thickness(before, film, walls, left):
    assert clearance_left_mm(before, film, walls) == pytest.approx(left)


# ISO 4042, guidance on thick coatings: the least deviation that a thread needs for its coating, µm
@pytest.mark.parametrize(
    ("film", "needed"),
    [(3, 12), (5, 20), (8, 32), (10, 40), (12, 48), (15, 60), (20, 80), (25, 100), (30, 120)],
)
def test_a_thread_loses_four_times_its_coating_as_the_fastener_standard_has_it(film, needed):
    (walls,) = {row["walls"] for row in toml_table("fits.toml")["zone"] if row["zone"] == "threads"}
    assert clearance_left_mm(needed / 1000, film, walls) == pytest.approx(0)
    assert clearance_left_mm(needed / 1000, film + 1, walls) < 0


TAPPED = [kind for kind in PartKind if kind is not PartKind.WHEEL]
# the fit before the coat in mm, and how many films it loses: two on a diameter, four on a thread
FITS = [
    (PartKind.WHEEL, BareZone.HUB_BORE, 0.1, 2),
    (PartKind.WHEEL, BareZone.VALVE_HOLE, 0.2, 2),
    (PartKind.CALIPER, BareZone.SLIDING_FACES, 0.2, 2),
    *((kind, BareZone.THREADS, 0.032, 4) for kind in TAPPED),
]


@pytest.mark.parametrize(("kind", "zone", "before", "films"), FITS)
def test_each_fit_of_a_part_loses_as_many_films_as_geometry_says(kind, zone, before, films):
    plan = coat_plan(wheels(), SHELF)
    film_mm = plan.film_um[1] / 1000
    mask = zones(part(kind), plan)[zone]
    assert mask.clearance_mm == pytest.approx(before - films * film_mm, abs=5e-4)
    assert f"{films * film_mm:.2f} mm" in english(mask.why)


# customary masking: ministry guideline, truck practice RP 240, enforcement agency leaflet
def test_every_wheel_keeps_its_mating_surfaces_bare():
    found = zones(wheels())
    assert {
        BareZone.HUB_FACE,
        BareZone.HUB_BORE,
        BareZone.LUG_SEATS,
        BareZone.VALVE_HOLE,
        BareZone.CAP_GROOVE,
        BareZone.STAMPS,
    } <= set(found)
    assert BareZone.BEAD_SEATS not in found


# truck wheel practice RP 240 (fleetequipmentmag.com): stripping leaves bare metal on mounting faces
# and bead seats; then the wheel is coated promptly. It does not say that bead seats stay bare.
@pytest.mark.parametrize("build", list(WheelBuild))
def test_bead_seats_are_coated_unless_the_customer_asks(build):
    assert BareZone.BEAD_SEATS not in zones(wheels(build=build))
    bare = finish(System.SINGLE, "BLACK", bare=(BareZone.BEAD_SEATS,))
    asked = zones(wheels(build=build, finish=bare))[BareZone.BEAD_SEATS]
    assert "You asked us" in english(asked.why)
    assert "rusts" in english(asked.why)


# the same page says nothing of nut seats; the leaflet and the guideline do
def test_nut_seats_stay_bare_for_the_reasons_of_those_who_say_so():
    source = english(zones(wheels())[BareZone.LUG_SEATS].source)
    assert "Careless Torque" in source
    assert "RP 240" not in source


def test_the_hub_bore_would_no_longer_fit_and_says_by_how_much():
    plan = coat_plan(wheels(), SHELF)
    mask = zones(wheels(), plan)[BareZone.HUB_BORE]
    assert mask.clearance_mm == pytest.approx(0.1 - 2 * 0.090)
    assert "0.18 mm" in english(mask.why)


def test_more_coats_leave_less_clearance():
    one = coat_plan(wheels(), SHELF)
    three = coat_plan(wheels(finish=finish(System.TRANSLUCENT, "CANDY")), SHELF)
    left = [zones(wheels(), plan)[BareZone.VALVE_HOLE].clearance_mm for plan in (one, three)]
    assert left[1] < left[0]


def test_the_gap_to_the_brake_shrinks_by_one_film():
    assert "0.09 mm" in english(brake_gap(coat_plan(wheels(), SHELF)))


def test_a_caliper_keeps_slides_and_threads_bare_but_has_no_hub_face():
    found = zones(part(PartKind.CALIPER, metal=Metal.CAST_IRON))
    assert set(found) == {BareZone.SLIDING_FACES, BareZone.THREADS}


def test_what_the_customer_wants_bare_is_masked_once():
    bare = (BareZone.BEAD_SEATS, BareZone.HUB_FACE)
    found = masks(wheels(finish=finish(System.SINGLE, "BLACK", bare=bare)), None)
    wanted = [mask for mask in found if "You asked us to keep" in english(mask.why)]
    assert [mask.zone for mask in wanted] == [BareZone.BEAD_SEATS]
    assert len(found) == len({mask.zone for mask in found})


@pytest.mark.parametrize(("kind", "metal"), list(product(PartKind, Metal)))
def test_every_part_of_every_metal_has_something_to_mask_and_why(kind, metal):
    for mask in masks(part(kind, metal=metal), None):
        assert english(mask.why).endswith(".")
        assert "{" not in english(mask.why)
        assert mask.source
    assert masks(part(kind, metal=metal), None)


def test_the_gap_beside_the_brake_is_told_by_the_thickest_film_of_wheels_alone():
    plan = coat_plan(wheels(), SHELF)
    (told,) = of_fit(wheels(), plan)
    assert told.key == f"brake_gap_{plan.film_um[1]}"
    assert (told.kind, told.about, told.instead) == (CautionKind.TELL, About.FINISH, None)
    assert english(told.says) == english(brake_gap(plan))
    assert english(told.source) == "calculated from the film thickness"
    assert of_fit(part(PartKind.PLATE), plan) == ()
    assert of_fit(wheels(), None) == ()
