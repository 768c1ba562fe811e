"""Two of four wheels are not brought: everything that is told afterwards counts two."""

from dataclasses import replace

import pytest
import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.orders.counter import bags, check_in, findings, hand_back
from portal.orders.counter.finding_answers import answer_finding
from portal.shop.pricing.differences import Difference
from portal.shop.route import PartStage
from portal.store.tables import Job, Letter
from tests.cast import sign_in
from tests.factories import WHEELS, a_booked_job, a_token, bring_to, last_event_id
from tests.page import page_of
from tests.web import paper

CAPPED = {**WHEELS, "removers": {"centre_cap": "us"}}


@pytest.fixture
def job(unit):
    return a_booked_job(unit, CAPPED)


@pytest.fixture
def desk(app, client):
    return sign_in(app, client)


def not_brought(unit, job, *numbers: int) -> int:
    with unit.read() as session:
        own = read_declared(session.get(Job, job.job_id).declared).sets[0]
    found = Difference(own.key, numbers, own, missing=True)
    return findings.raise_finding(
        unit,
        job.job_id,
        found,
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )


def agree(unit, job, finding: int) -> None:
    answer_finding(unit, job.job_id, finding, accepted=True, how="counter", who=None)


def words(client, address: str) -> str:
    return page_of(client.get(address)).text


def test_the_bag_that_is_offered_holds_what_belongs_to_the_parts_on_site(desk, unit, job):
    assert "+ 4 centre caps" in words(desk, f"/counter/job/{job.code}/check-in")
    finding = not_brought(unit, job, 3, 4)
    assert "+ 2 centre caps" in words(desk, f"/counter/job/{job.code}/check-in")
    agree(unit, job, finding)
    assert "+ 2 centre caps" in words(desk, f"/counter/job/{job.code}/check-in")


def test_a_bag_noted_before_is_counted_again(desk, unit, job):
    bags.add_bag(unit, job.job_id, "4 centre caps", who=None)
    bags.add_bag(unit, job.job_id, "3 valves in a jar", who=None)
    again = "Count this bag again: for the parts on site it should be 2 centre caps."
    assert "Count this bag again" not in words(desk, f"/counter/job/{job.code}/check-in")
    agree(unit, job, not_brought(unit, job, 3, 4))
    told = words(desk, f"/counter/job/{job.code}/check-in")
    assert told.count("Count this bag again") == 1
    assert again in told
    bags.drop_bag(unit, job.job_id, "B1", who=None)
    bags.add_bag(unit, job.job_id, "2 centre caps", who=None)
    assert "Count this bag again" not in words(desk, f"/counter/job/{job.code}/check-in")


def test_every_page_paper_and_letter_counts_the_parts_on_site(app, desk, unit, job):
    bags.add_bag(unit, job.job_id, "4 centre caps", who=None)
    agree(unit, job, not_brought(unit, job, 3, 4))
    for number in (1, 2):
        check_in.give_tag(unit, job.job_id, str(100 + number), who=None)
    check_in.as_declared(unit, job.job_id, who=None)
    status = f"/J/{job.token}"
    check_in.receive(
        unit, job.job_id, expected_event_id=last_event_id(unit, job), once_token=a_token(), who=None
    )
    places = {
        "status": status,
        "slip": f"{status}/slip",
        "check-in": f"/counter/job/{job.code}/check-in",
        "job": f"/counter/job/{job.code}",
        "found": f"/counter/find?q={job.code}",
    }
    for name, address in places.items():
        answer = desk.get(address, follow_redirects=True)
        told = page_of(answer).text
        assert "4 ×" not in told, (name, told)
        assert "2 ×" in told, (name, told)
    pdf = paper.text_of(desk.get(f"{status}/slip.pdf").data)
    assert "2 × 18 × 8 wheels" in pdf
    assert "4 × " not in pdf
    bring_to(unit, replace(job, part_ids=job.part_ids[:2]), PartStage.DONE)
    hand_back.make_ready(unit, job.job_id, who=None)
    for name in ("status", "job"):
        assert "4 ×" not in page_of(desk.get(places[name], follow_redirects=True)).text
    told = words(desk, f"/counter/job/{job.code}/hand-back")
    assert "4 ×" not in told
    assert "0/2" in told
    assert "for the parts on site it should be 2 centre caps" in told
    with unit.read() as session:
        letters = session.scalars(sa.select(Letter).where(Letter.job_id == job.job_id)).all()
    [ready] = [one for one in letters if one.kind == "ready"]
    assert "Parts: 2" in ready.text


def test_a_slip_printed_while_the_answer_is_open_has_a_box_for_each_part_on_site(client, unit, job):
    not_brought(unit, job, 4)
    strip = words(client, f"/J/{job.token}/slip")
    assert "3 × 18 × 8 wheels" in strip
    assert "4 × 18 × 8 wheels" not in strip


def test_with_nothing_left_the_order_is_still_called_what_it_was(client, unit, job):
    agree(unit, job, not_brought(unit, job, 1, 2, 3, 4))
    assert "4 × Wheel" in words(client, f"/J/{job.token}")
    assert client.get(f"/J/{job.token}/slip").status_code == 200
