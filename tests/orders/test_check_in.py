"""What arrives at the counter is checked, tagged, bagged and received."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
import sqlalchemy as sa

from portal.orders.counter import bags, check_in
from portal.orders.kernel.errors import Overtaken, Refused, Taken
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import HardwareBag, Part
from tests.factories import (
    a_booked_job,
    a_job_in_work,
    a_token,
    events,
    last_event_id,
    stages,
    state,
)
from tests.readers import english, refusing


def tags(unit, job) -> list[str | None]:
    with unit.read() as session:
        query = sa.select(Part.tag).where(Part.job_id == job.job_id).order_by(Part.number)
        return list(session.scalars(query))


def receive(unit, job, *, since: int | None = None, token: str | None = None):
    return check_in.receive(
        unit,
        job.job_id,
        expected_event_id=last_event_id(unit, job) if since is None else since,
        once_token=token or a_token(),
        who=None,
    )


def test_a_set_as_declared_is_marked_in_one_go_and_received(unit) -> None:
    job = a_booked_job(unit)
    assert check_in.as_declared(unit, job.job_id, who=None) == 4
    for number in ("101", "102", "103", "104"):
        check_in.give_tag(unit, job.job_id, number, who=None)
    assert receive(unit, job) == {"started": True}
    assert state(unit, job) is JobState.IN_WORK
    assert stages(unit, job) == [PartStage.PREP] * 4
    assert tags(unit, job) == ["101", "102", "103", "104"]


def test_a_job_is_not_received_with_an_unseen_or_untagged_part(unit) -> None:
    job = a_booked_job(unit)
    with pytest.raises(Refused) as caught:
        receive(unit, job)
    assert "Check these parts first: 1, 2, 3, 4." in english(caught.value.sentence)
    assert "These parts have no tag yet: 1, 2, 3, 4." in english(caught.value.sentence)
    assert state(unit, job) is JobState.BOOKED


def test_receiving_twice_with_one_button_counts_once(unit) -> None:
    job = a_booked_job(unit)
    check_in.as_declared(unit, job.job_id, who=None)
    for number in ("101", "102", "103", "104"):
        check_in.give_tag(unit, job.job_id, number, who=None)
    since = last_event_id(unit, job)
    first = receive(unit, job, since=since, token="the-same-button")
    assert receive(unit, job, since=since, token="the-same-button") == first
    assert len(events(unit, job, "receive")) == 1


def test_a_scanned_tag_goes_to_the_first_part_without_one(unit) -> None:
    job = a_booked_job(unit)
    given = check_in.give_tag(unit, job.job_id, "T-0101", who=None)
    assert (given.part_number, given.tag, given.left) == (1, "101", 3)
    assert check_in.give_tag(unit, job.job_id, "102", who=None).part_number == 2


def test_the_same_tag_scanned_twice_counts_once(unit) -> None:
    job = a_booked_job(unit)
    check_in.give_tag(unit, job.job_id, "101", who=None)
    again = check_in.give_tag(unit, job.job_id, "101", who=None)
    assert again.already
    assert tags(unit, job) == ["101", None, None, None]
    assert len(events(unit, job, "tag")) == 1


def test_a_tag_in_use_elsewhere_is_refused_with_the_place_where_it_is(unit) -> None:
    first = a_job_in_work(unit)
    second = a_booked_job(unit, name="Someone Else")
    with pytest.raises(Taken) as caught:
        check_in.give_tag(unit, second.job_id, "103", who=None)
    code = f"{first.code[:4]}-{first.code[4:]}"
    assert english(caught.value.sentence) == (f"Tag 103 is in use on part 3 of {code}, at “Prep”.")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("9999", "Tag 9999 is not in our list"),
        ("", "is not a tag number"),
        ("ABC", "is not a tag number"),
        ("🛞", "is not a tag number"),
        ("123456789", "is not a tag number"),
    ],
)
def test_what_is_no_tag_is_refused_in_plain_words(unit, typed: str, said: str) -> None:
    job = a_booked_job(unit)
    with pytest.raises(Refused) as caught:
        check_in.give_tag(unit, job.job_id, typed, who=None)
    assert said in english(caught.value.sentence)


def test_of_two_people_who_scan_one_free_tag_at_once_one_gets_it(unit) -> None:
    jobs = [a_booked_job(unit), a_booked_job(unit)]
    start = threading.Barrier(2)

    def give(job) -> str:
        start.wait()
        try:
            check_in.give_tag(unit, job.job_id, "150", who=None)
        except Taken:
            return "taken"
        return "given"

    with ThreadPoolExecutor(2) as people:
        assert sorted(people.map(give, jobs)) == ["given", "taken"]


def test_a_fifth_tag_for_four_parts_is_refused(unit) -> None:
    job = a_booked_job(unit)
    for number in ("101", "102", "103", "104"):
        check_in.give_tag(unit, job.job_id, number, who=None)
    with refusing(Refused, r"Every part of this job already has a tag\. Take"):
        check_in.give_tag(unit, job.job_id, "105", who=None)


def test_a_tag_taken_off_is_free_for_the_next_part(unit) -> None:
    job = a_booked_job(unit)
    check_in.give_tag(unit, job.job_id, "101", who=None)
    check_in.take_tag_off(unit, job.part_ids[0], who=None)
    other = a_booked_job(unit)
    assert check_in.give_tag(unit, other.job_id, "101", who=None).part_number == 1


def test_the_second_of_two_people_is_told_what_the_first_changed(unit) -> None:
    job = a_booked_job(unit)
    page = last_event_id(unit, job)
    check_in.note_stamps(unit, job.job_id, {1: "0423 A"}, expected_event_id=page, who=None)
    with pytest.raises(Overtaken) as caught:
        check_in.note_stamps(unit, job.job_id, {2: "0423 B"}, expected_event_id=page, who=None)
    assert "the stamp of part 1 was noted (0423 A)" in english(caught.value.sentence)
    with unit.read() as session:
        query = sa.select(Part.stamp).where(Part.job_id == job.job_id).order_by(Part.number)
        assert list(session.scalars(query)) == ["0423 A", "", "", ""]


def test_bags_are_labelled_in_order_and_can_be_struck_off(unit) -> None:
    job = a_booked_job(unit)
    assert bags.add_bag(unit, job.job_id, "4 centre caps", who=None) == "B1"
    assert bags.add_bag(unit, job.job_id, " 20  lug covers ", who=None) == "B2"
    bags.drop_bag(unit, job.job_id, "B1", who=None)
    with unit.read() as session:
        query = sa.select(HardwareBag.label, HardwareBag.contents)
        assert [tuple(row) for row in session.execute(query)] == [("B2", "20 lug covers")]
    assert [e.verb for e in events(unit, job, "bag_off")] == ["bag_off"]


def test_an_empty_bag_is_refused_beside_its_field(unit) -> None:
    job = a_booked_job(unit)
    with pytest.raises(Refused) as caught:
        bags.add_bag(unit, job.job_id, "   ", who=None)
    assert caught.value.key == "contents"


def test_as_declared_can_be_looked_at_again_before_work_starts(unit) -> None:
    job = a_booked_job(unit)
    check_in.as_declared(unit, job.job_id, who=None)
    check_in.look_again(unit, job.part_ids[1], who=None)
    with refusing(Refused, "Check these parts first: 2"):
        receive(unit, job)


def test_nothing_is_checked_in_after_the_hand_back(unit) -> None:
    job = a_job_in_work(unit)
    with unit.read() as session:
        assert session.get(Part, job.part_ids[0]).arrived == "as_declared"
    with refusing(Refused, "In progress"):
        receive(unit, job)
