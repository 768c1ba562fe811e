"""Where each wheel sat is noted at check-in, and everybody after that is told."""

import pytest

from portal.craft.corners import FOUR, Corner
from portal.orders.counter import check_in
from portal.orders.counter.cancellation import call_off
from portal.orders.counter.corners import note_corners
from portal.orders.counter.hand_back import make_ready
from portal.orders.counter.job_view import job_view
from portal.orders.counter.tags import tags
from portal.orders.customer.slip_view import slip
from portal.orders.customer.status_view import status
from portal.orders.kernel.errors import Overtaken, Refused, Unknown
from portal.orders.kernel.refit_guide import refit
from portal.orders.production import floor as floor_verbs
from portal.orders.production.board_view import floor
from portal.shop.route import PartStage
from portal.store.tables import Part
from tests.factories import (
    WHEELS,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    events,
    last_event_id,
)
from tests.readers import english, refusing

ON_TYRES = {**WHEELS, "fitted": ["tyre", "centre_cap"], "removers": {}}
RAILING = {
    "kind": "railing",
    "count": 1,
    "metal": "steel",
    "size_mm": [900, 900, 30],
    "layers": ["bare"],
    "finish": WHEELS["finish"],
}


def noted(unit, job) -> list[Corner | None]:
    return [part.corner for part in job_view(unit, job.code).parts]


def checked_and_tagged(unit, *sets, **told):
    job = a_booked_job(unit, *sets, **told)
    check_in.as_declared(unit, job.job_id, who=None)
    for n in range(len(job.part_ids)):
        check_in.give_tag(unit, job.job_id, str(101 + n), who=None)
    return job


def test_wheels_on_tyres_are_not_received_before_their_corners_are_noted(unit) -> None:
    job = checked_and_tagged(unit, ON_TYRES, bringing="complete")
    note_corners(unit, job.job_id, {1: Corner.FRONT_LEFT, 2: Corner.UNKNOWN}, who=None)
    with unit.read() as session:
        (against,) = check_in.reasons_against_receiving(session, job.job_id)
    assert english(against) == "Note where these wheels sat, or that it isn't known: 3, 4."
    note_corners(unit, job.job_id, {3: Corner.REAR_LEFT, 4: Corner.REAR_RIGHT}, who=None)
    with unit.read() as session:
        assert check_in.reasons_against_receiving(session, job.job_id) == []


def test_bare_rims_may_be_noted_but_need_not_be(unit) -> None:
    job = checked_and_tagged(unit)
    with unit.read() as session:
        assert check_in.reasons_against_receiving(session, job.job_id) == []
    note_corners(unit, job.job_id, {1: Corner.FRONT}, who=None)
    assert noted(unit, job) == [Corner.FRONT, None, None, None]


def test_a_corner_is_for_wheels_alone_and_each_change_leaves_an_event(unit) -> None:
    job = a_booked_job(unit, ON_TYRES, RAILING, bringing="complete")
    with refusing(Unknown, "no wheel 5"):
        note_corners(unit, job.job_id, {5: Corner.FRONT}, who=None)
    assert note_corners(unit, job.job_id, {1: Corner.FRONT_LEFT}, who=None) == 1
    assert note_corners(unit, job.job_id, {1: Corner.FRONT_LEFT}, who=None) == 0
    assert len(events(unit, job, "corner")) == 1


def test_a_save_from_an_older_page_is_refused(unit) -> None:
    job = a_booked_job(unit, ON_TYRES, bringing="complete")
    since = last_event_id(unit, job)
    note_corners(unit, job.job_id, {1: Corner.FRONT_LEFT}, who=None)
    with refusing(Overtaken, "the corner of part 1 was noted"):
        note_corners(unit, job.job_id, {1: Corner.REAR_LEFT}, expected_event_id=since, who=None)


def test_whoever_refits_reads_the_corner_on_card_paper_and_guide(unit) -> None:
    job = a_job_at(unit, PartStage.REFIT, ON_TYRES, bringing="whole_car")
    (group,) = next(column.groups for column in floor(unit) if column.stage is PartStage.REFIT)
    assert group.stage.tells("corner")
    assert [part.corner for part in group.parts] == list(FOUR)
    assert group.card.on_car
    assert [part.corner for part in slip(unit, job.token).parts] == list(FOUR)
    assert [one.corner for one in tags(unit).worn] == list(FOUR)
    page = status(unit, job.token)
    assert page is not None
    assert [one.corner for one in page.wheels] == list(FOUR)


def test_a_scan_at_refit_answers_where_the_wheel_sits(unit) -> None:
    job = a_job_at(unit, PartStage.REFIT, ON_TYRES, bringing="complete")
    there = floor_verbs.scan_part(unit, "102", PartStage.REFIT, scan_id="scan-0001", who=None)
    assert english(there.says).endswith("is already at “Refit”. It sits: front right.")
    (on,) = floor_verbs.move_on(unit, job.part_ids[:1], to=PartStage.DONE, who=None)
    assert "sits" not in english(on.says)
    (back,) = floor_verbs.take_back(unit, {on.part_id: PartStage.DONE}, who=None)
    assert english(back.says).endswith("It sits: front left.")


def test_the_guide_comes_when_the_parts_are_ready(unit) -> None:
    job = a_job_in_work(unit, ON_TYRES, bringing="complete")
    with refusing(Unknown, "comes when they are ready"):
        refit(unit, job.token)


def test_the_guide_of_a_ready_job_names_each_corner_and_defers_where_none_is_known(unit) -> None:
    job = a_job_at(unit, PartStage.DONE, ON_TYRES, bringing="complete")
    make_ready(unit, job.job_id, who=None)
    (step,) = [one for one in refit(unit, job.token).steps if one.key == "same_car"]
    assert "part 1 (tag 101) → front left" in english(step.says)
    note_corners(unit, job.job_id, {4: Corner.UNKNOWN}, who=None)
    (step,) = [one for one in refit(unit, job.token).steps if one.key == "same_car"]
    assert "We don't know the corner of part 4 (tag 104)" in english(step.says)


def test_a_job_from_before_corners_were_noted_defers_to_the_handbook(unit) -> None:
    job = a_job_at(unit, PartStage.DONE, ON_TYRES, bringing="complete")
    make_ready(unit, job.job_id, who=None)

    def forget(session) -> None:
        for part_id in job.part_ids:
            session.get_one(Part, part_id).corner = None

    unit.write(forget)
    (step,) = [one for one in refit(unit, job.token).steps if one.key == "same_car"]
    assert "We don't know which corner each wheel came from" in english(step.says)
    page = status(unit, job.token)
    assert page is not None
    assert page.wheels == ()


def test_nothing_is_noted_once_the_wheels_have_gone_home(unit) -> None:
    job = a_booked_job(unit, ON_TYRES, bringing="complete")
    call_off(unit, job.job_id, reason="test", who=None)
    with pytest.raises(Refused):
        note_corners(unit, job.job_id, {1: Corner.FRONT_LEFT}, who=None)
