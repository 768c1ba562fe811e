"""The oven's page tells each part's heat, asks for a yes, leads to the maker's permission."""

import pytest

from portal.craft.bakes import Bake
from portal.orders.kernel.errors import Refused
from portal.orders.production import floor
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from tests.cast import FLOOR, OFFICE, sign_in, token_of
from tests.factories import TWO_COATS, WHEELS, a_job_at, stages
from tests.orders.test_part_heat import add_load, heat_of, leave, start
from tests.page import checked_client, page_of, words
from tests.readers import refusing
from tests.web.hand import Hand

STEEL = {**WHEELS, "metal": "steel", "build": "steel"}


@pytest.fixture
def office(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), OFFICE))


def heats(hand) -> list[list[str]]:
    """The rows of the tables of heat, without their heads."""
    return [
        [words(cell) for cell in row]
        for table in hand.page.all("table", class_="heat")
        for row in list(table.iter("tr"))[1:]
    ]


def test_the_page_tells_what_is_left_of_each_part(hand, unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    add_load(unit, job.part_ids[1], 200, 20)
    hand.go("/counter/oven")
    fresh, worn = heats(hand)
    assert [fresh[0], worn[0]] == ["101 103 104", "102"]
    so_far, left, after, limit = (int(cell) for cell in worn[1:])
    assert (limit, left) == (45, 45 - so_far)
    assert so_far < after
    assert heat_of(unit, job.part_ids[1]).so_far == pytest.approx(so_far, abs=1)


def test_steel_stands_in_no_table_of_heat(hand, unit) -> None:
    a_job_at(unit, PartStage.CURE, STEEL)
    hand.go("/counter/oven")
    assert heats(hand) == []


def test_a_base_coat_is_proposed_for_its_own_minutes_and_named_as_part_cure(hand, unit) -> None:
    a_job_at(unit, PartStage.CURE, TWO_COATS, first_tag=101)
    a_job_at(unit, PartStage.CURE, first_tag=111)
    hand.go("/counter/oven")
    heads = [words(one) for one in hand.page.all("h2") if "min" in words(one)]
    assert sorted(heads) == ["4 parts · 180 °C · 15 min", "4 parts · 180 °C · 8 min"]
    assert "Part cure only" in words(hand.page.one("main"))


def test_a_longer_load_asks_for_a_yes_for_each_part(hand, unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    hand.go("/counter/oven")
    hand.send("/oven/start", minutes="18")
    assert hand.at.status_code == 422
    asked = [e.get("value") for e in hand.page.all("input") if e.get("name") == "yes"]
    assert asked == [str(one) for one in job.part_ids]
    wrong = hand.page.one("div", class_="wrongs")
    assert "Planned are 180 °C and 15 min (Full cure)." in words(wrong)
    hand.send("/oven/start", yes=asked)
    assert "Load 1 started." in hand.told
    assert heat_of(unit, job.part_ids[0]).stays[-1].minutes == 18


def test_too_much_heat_is_refused_with_figures_and_leads_to_the_part(hand, unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    add_load(unit, job.part_ids[0], 200, 30)
    hand.go("/counter/oven")
    assert "too much heat for some of these parts" in words(hand.page.one("main"))
    hand.send("/oven/start")
    wrong = words(hand.page.one("div", class_="wrongs"))
    assert "Tag 101 (43 so far, 48 with it, limit 45)" in wrong
    links = [a.get("href") for a in hand.page.all("a") if "/heat" in (a.get("href") or "")]
    assert f"/counter/part/{job.part_ids[0]}/heat" in links


def test_the_office_records_the_makers_leave_and_the_load_goes(office, unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    add_load(unit, job.part_ids[0], 200, 30)
    office.go(f"/counter/part/{job.part_ids[0]}/heat")
    office.send("/heat/leave", up_to="40", maker="", why="")
    assert "Enter who at the maker allowed it" in office.wrong("maker")
    office.send("/heat/leave", up_to="60", maker="Letter of 3 March", why="A run in the clear")
    main = words(office.page.one("main"))
    assert "Up to 60 minutes. Allowed by: Letter of 3 March. Why: A run in the clear" in main
    assert "Recorded by Wren" in main
    office.go("/counter/oven")
    office.send("/oven/start")
    assert "Load 2 started." in office.told
    office.go("/office/doing")
    assert "recorded the maker's permission" in words(office.page.one("main"))


def test_only_the_office_may_record_a_leave(app, unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    one = Hand(sign_in(app, checked_client(app), FLOOR))
    address = f"/counter/part/{job.part_ids[0]}/heat"
    one.go(address)
    assert "The office can record the maker's permission here." in words(one.page.one("main"))
    told = {"up_to": "60", "maker": "Letter", "why": "Rework", "csrf_token": token_of(one.at.text)}
    assert one.client.post(f"{address}/leave", data=told).status_code == 403
    assert heat_of(unit, job.part_ids[0]).leave is None


def test_a_forgotten_load_is_asked_when_it_came_out(hand, unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    start(unit, job.part_ids)
    clock.advance(minutes=25)
    hand.go("/counter/oven")
    assert "Otherwise 25 minutes count as heat" in words(hand.page.one("main"))
    hand.send("/close", baked_min="16")
    assert stages(unit, job) == [PartStage.INSPECT] * 4
    assert heat_of(unit, job.part_ids[0]).stays[-1].minutes == 16


def test_a_load_that_came_out_too_early_asks_why_beside_the_field(hand, unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    start(unit, job.part_ids)
    clock.advance(minutes=25)
    hand.go("/counter/oven")
    hand.send("/close", baked_min="99")
    assert "at most 25" in hand.wrong("baked_min-1")
    hand.send("/close", baked_min="9")
    assert "give a reason" in hand.wrong("early_because-1")
    assert hand.page.one("input", id="baked_min-1").get("value") == "9"
    hand.send("/close", early_because="burner fault")
    assert stages(unit, job) == [PartStage.INSPECT] * 4
    assert heat_of(unit, job.part_ids[0]).stays[-1].minutes == 9


def test_closing_a_load_names_what_inspection_must_look_at(hand, unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE, TWO_COATS)
    start(unit, job.part_ids, minutes=8)
    clock.advance(minutes=30)
    hand.go("/counter/oven")
    hand.send("/close")
    assert any("check at inspection: Tag 101 (180" in one for one in hand.told)


def test_the_pre_bake_has_its_button_on_the_card_and_its_load(hand, unit, clock) -> None:
    job = a_job_at(unit, PartStage.COAT)
    hand.go("/counter/floor")
    assert "Pre-bake in the oven" in words(hand.page.one(id="at-coat"))
    hand.go("/counter/oven")
    assert "Pre-bake before the first coat" in words(hand.page.one("main"))
    hand.send("/oven/start")
    hand.go("/counter/floor")
    assert "In the oven" in words(hand.page.one(id="at-coat"))
    clock.advance(minutes=20)
    hand.go("/counter/oven")
    hand.send("/close")
    assert "Pre-baked: 4 parts." in hand.told[-1]
    hand.go("/counter/floor")
    assert "Pre-bake in the oven" not in words(hand.page.one(id="at-coat"))
    floor.move_on(unit, job.part_ids, to=PartStage.CURE, who=None)
    assert [one.bake for one in heat_of(unit, job.part_ids[0]).stays] == [Bake.PRE_BAKE]


def test_rework_tells_before_what_the_part_bears(hand, unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT, TWO_COATS)
    one = job.part_ids[0]

    def told() -> str:
        hand.go(f"/counter/part/{one}/rework")
        return words(hand.page.one("main"))

    assert "Heat so far" in told()
    add_load(unit, one, 200, 24)
    assert "bears one more coat" in told()
    with refusing(Refused, "too much heat"):
        floor.rework(unit, one, Fault.ADHESION, who=None)
    add_load(unit, one, 200, 4)
    assert "can't be baked again" in told()
    hand.send("/rework", fault="dirt")
    assert hand.at.status_code == 422
    assert "too much heat" in words(hand.page.one("div", class_="wrongs"))
    leave(unit, one, up_to=90)
    assert "Heat so far" in told()
    hand.send("/rework", fault="dirt")
    assert stages(unit, job)[0] is PartStage.COAT


def test_the_customers_sheet_tells_the_heat_and_the_leave(app, unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    leave(unit, job.part_ids[0], up_to=60)
    page = page_of(checked_client(app).get(f"/J/{job.token}/inspection"))
    rows = [words(dd) for dd in page.all("dd") if "In the oven so far" in words(dd)]
    assert len(rows) == 4
    assert all("Our limit is 45." in row for row in rows)
    assert "The maker allows up to 60 minutes at 200 °C: By letter, 3 March." in rows[0]


def test_a_wrong_figure_is_told_beside_its_field_and_nothing_typed_is_lost(hand, unit) -> None:
    a_job_at(unit, PartStage.CURE)
    hand.go("/counter/oven")
    hand.send("/oven/start", minutes="9", set_point_c="182")
    assert "Enter at least 180" in hand.wrong("min-1")
    field = hand.page.one("input", id="min-1")
    assert (field.get("value"), field.get("aria-invalid")) == ("9", "true")
    assert hand.page.one("input", id="heat-1").get("value") == "182"


def test_who_comes_second_is_told_that_the_parts_are_in_a_load(hand, unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    hand.go("/counter/oven")
    start(unit, job.part_ids)
    hand.send("/oven/start")
    assert hand.at.status_code == 422
    assert "is in load 1 already" in hand.told[0]
