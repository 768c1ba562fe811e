"""At check-in four wheels are noted by one press, or each by its box; no script needed."""

import pytest
import sqlalchemy as sa

from portal.craft.corners import FOUR, Corner
from portal.orders.counter.corners import note_corners
from portal.orders.counter.hand_back import make_ready
from portal.orders.counter.job_view import job_view
from portal.shop.route import PartStage
from portal.shop.states import LetterKind
from portal.store.tables import Letter
from tests.factories import WHEELS, a_booked_job, a_job_at
from tests.page import words

ON_TYRES = {**WHEELS, "fitted": ["tyre", "centre_cap"], "removers": {}}


def noted(unit, job) -> list[Corner | None]:
    return [part.corner for part in job_view(unit, job.code).parts]


def test_one_press_notes_four_wheels_and_the_tags_follow_in_that_order(hand, unit) -> None:
    job = a_booked_job(unit, ON_TYRES, bringing="complete")
    hand.scan(job.code)
    assert "Where did each wheel sit?" in hand.page.text
    hand.send("/corners")
    assert noted(unit, job) == list(FOUR)
    label = words(hand.page.one("label", for_="scan"))
    assert label == "Scan the tags in this order: front left, front right, rear left, rear right"
    hand.scan("101")
    assert "in this order: front right, rear left, rear right" in hand.page.text
    for tag in ("102", "103", "104"):
        hand.scan(tag)
    hand.send("/receive")
    assert hand.told == ["Received. Work has started."]


def test_wheels_with_tyres_as_declared_take_two_presses_beside_the_scans(hand, unit) -> None:
    job = a_booked_job(unit, ON_TYRES, bringing="complete")
    hand.scan(job.code)
    assert "As declared: front left, front right, rear left, rear right" in hand.page.text
    hand.send("/as-declared")
    assert noted(unit, job) == list(FOUR)
    for tag in ("101", "102", "103", "104"):
        hand.scan(tag)
    hand.send("/receive")
    assert hand.told == ["Received. Work has started."]


def test_two_wheels_noted_at_one_corner_are_warned_of(hand, unit) -> None:
    job = a_booked_job(unit, ON_TYRES, bringing="complete")
    hand.scan(job.code)
    hand.send("/corners")
    assert "noted at the same place" not in hand.page.text
    twice = {1: Corner.FRONT_LEFT, 3: Corner.FRONT_LEFT}
    note_corners(unit, job.job_id, twice, who=None)
    hand.go(f"/counter/job/{job.code}/check-in")
    warned = "Parts 1, 3 are noted at the same place: front left. Look again."
    assert warned in hand.page.text


def test_receiving_asks_for_corners_and_not_known_is_an_answer(hand, unit) -> None:
    job = a_booked_job(unit, ON_TYRES, bringing="complete")
    hand.scan(job.code)
    for tag in ("101", "102", "103", "104"):
        hand.scan(tag)
    hand.send("/as-declared", corners="")
    hand.send("/receive")
    assert hand.told == ["Note where these wheels sat, or that it isn't known: 1, 2, 3, 4."]
    hand.send("/corners", row="unknown")
    assert noted(unit, job) == [Corner.UNKNOWN] * 4
    hand.send("/receive")
    assert hand.told == ["Received. Work has started."]


def test_each_wheel_has_a_box_of_its_own(hand, unit) -> None:
    job = a_booked_job(unit, {**ON_TYRES, "count": 3}, bringing="complete")
    hand.go(f"/counter/job/{job.code}/check-in")
    form = next(
        form
        for form in hand.page.all("form")
        if any(one.get("name") == "corner-1" for one in form.iter("select"))
    )
    number = hand.page.all("form").index(form)
    hand.follow(hand.client.submit(hand.at, form=number, **{"corner-1": "rear"}))
    assert noted(unit, job) == [Corner.REAR, None, None]


@pytest.mark.parametrize("bringing", ["whole_car", "complete"])
def test_who_lifts_a_car_is_cautioned_where_it_is_received(hand, unit, bringing: str) -> None:
    job = a_booked_job(unit, ON_TYRES, bringing=bringing)
    hand.scan(job.code)
    assert ("Lift the car only at the points" in hand.page.text) is (bringing == "whole_car")


def test_the_floor_card_the_hand_back_and_the_paper_tag_tell_the_corner(hand, unit) -> None:
    job = a_job_at(unit, PartStage.REFIT, ON_TYRES, bringing="whole_car")
    hand.go("/counter/floor")
    (card,) = hand.page.all("article", class_="group")
    assert "Tag 101: front left" in words(card)
    assert "Back on the car" in words(card)
    hand.go(f"/J/{job.token}/tags")
    assert [words(p) for p in hand.page.all("p", class_="label-corner")] == [
        one.title for one in FOUR
    ]


def test_no_guide_and_no_link_to_it_before_the_parts_are_ready(app, unit, hand) -> None:
    job = a_job_at(unit, PartStage.REFIT, ON_TYRES, bringing="complete")
    client = app.test_client()
    status = client.get(f"/J/{job.token}").get_data(as_text=True)
    assert f"/J/{job.token}/refit" not in status
    for ending in ("refit", "refit.pdf"):
        answer = client.get(f"/J/{job.token}/{ending}")
        assert answer.status_code == 404
        assert "comes when they are ready" in answer.get_data(as_text=True)
    hand.go(f"/counter/job/{job.code}")
    assert "Refit guide" not in hand.page.text


def test_the_hand_back_counts_by_corner_and_the_letter_takes_it_home(hand, unit) -> None:
    job = a_job_at(unit, PartStage.DONE, ON_TYRES, bringing="complete")
    note_corners(unit, job.job_id, {4: Corner.UNKNOWN}, who=None)
    make_ready(unit, job.job_id, who=None)
    hand.scan(job.code)
    assert hand.path.endswith("/hand-back")
    counted = [words(one) for one in hand.page.all("label", class_="count-one")]
    assert "front left" in counted[0]
    assert "place not known" in counted[3]
    assert "Leave its paper tag on each wheel" in hand.page.text
    assert "after 50 km (30 mi), and once more by 160 km (100 mi)" in hand.page.text
    hand.send("/hand-back", pickup_code="4711", parts=["1", "2", "3", "4"], do="all-card")
    assert "Handed back." in hand.told[0]
    with unit.read() as session:
        (letter,) = session.scalars(sa.select(Letter).where(Letter.kind == LetterKind.HANDED_BACK))
        text = letter.text.replace("\u00a0", " ")
    assert "part 1 → front left; part 2 → front right; part 3 → rear left." in text
    assert "We don't know the corner of part 4" in text
    assert "Check again after 50 km (30 mi), and once more by 160 km (100 mi)" in text
