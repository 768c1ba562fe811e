"""The log: sentences of a day, of a person, of a job."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import check_in, hand_back
from portal.shop.codes import shown
from portal.shop.route import PartStage
from portal.store.tables import Person
from tests.cast import COUNTER, OFFICE, sign_in
from tests.factories import a_booked_job, a_job_at
from tests.page import checked_client, words
from tests.web.hand import Hand


@pytest.fixture
def office(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), OFFICE), "/office/doing")


def lines(hand: Hand) -> list[str]:
    return [words(one) for one in hand.page.all("tr")][1:]


def test_entries_are_sentences_with_the_code_in_groups_and_the_year(office, unit) -> None:
    job = a_booked_job(unit)
    check_in.as_declared(unit, job.job_id, who=None)
    office.go("/office/doing")
    assert shown(job.code) in office.page.text
    assert job.code not in office.page.text
    assert "1 June 2026" in lines(office)[0]
    assert "checked part 4: as declared." in office.page.text


def test_the_entries_of_a_day(app, unit, clock) -> None:
    job = a_job_at(unit, PartStage.DONE)
    clock.advance(days=1)
    hand_back.make_ready(unit, job.job_id, who=None)
    office = Hand(sign_in(app, checked_client(app), OFFICE), "/office/doing?day=2026-06-02")
    assert [one for one in lines(office) if "on the shelf" in one]
    assert all("2 June 2026" in one for one in lines(office))
    office.go("/office/doing?day=2026-06-01")
    assert not [one for one in lines(office) if "on the shelf" in one]
    assert all("1 June 2026" in one for one in lines(office))
    office.go("/office/doing?day=2026-05-01")
    assert "There is no entry for this." in office.page.text


def test_the_entries_of_a_person(office, unit) -> None:
    with unit.read() as session:
        counter = session.scalar(sa.select(Person.id).where(Person.login == COUNTER.login))
    job = a_booked_job(unit)
    check_in.as_declared(unit, job.job_id, who=counter)
    office.go(f"/office/doing?person={counter}")
    assert lines(office)
    assert all(COUNTER.name in one for one in lines(office))


def test_the_entries_of_a_job_however_its_code_is_typed(office, unit) -> None:
    job, other = a_booked_job(unit), a_booked_job(unit, name="Ada Other")
    for one in (job, other):
        check_in.as_declared(unit, one.job_id, who=None)
    for typed in (job.code, shown(job.code), shown(job.code).lower()):
        office.go(f"/office/doing?job={typed}")
        assert lines(office)
        assert all(shown(job.code) in one for one in lines(office))


@pytest.mark.parametrize(
    ("name", "typed"), [("job", "AAAA-AAAA"), ("day", "someday"), ("day", "0001-01-01")]
)
def test_what_is_wrong_is_said_beside_its_field_and_nothing_typed_is_lost(
    office, name, typed
) -> None:
    assert office.go(f"/office/doing?{name}={typed}").status_code == 422
    assert office.wrong(name)
    assert office.page.one(id=name).get("value") == typed


def test_older_entries_keep_what_was_asked_for(office, unit, clock) -> None:
    job = a_booked_job(unit)
    for _ in range(14):
        check_in.as_declared(unit, job.job_id, who=None)
        for part_id in job.part_ids:
            check_in.look_again(unit, part_id, who=None)
        clock.advance(minutes=1)
    office.go(f"/office/doing?job={job.code}&day=2026-06-01")
    (way,) = [one.get("href") for one in office.page.all("a") if words(one) == "Earlier"]
    assert f"job={job.code}" in way
    assert "day=2026-06-01" in way
    newest = lines(office)
    office.go(way)
    assert lines(office)[-1] not in newest
