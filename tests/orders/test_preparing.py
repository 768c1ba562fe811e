"""The preparation: what is ticked, what is left to the works, and what the tyre shop is told."""

from datetime import timedelta

import pytest

from portal.craft.parts import Bringing, Item, Remover
from portal.orders.customer.handing_over import hand_over, weigh_hand_over
from portal.orders.customer.preparing import preparation, tick
from portal.orders.customer.tyre_shop import tyre_shop_entry, tyre_shop_sheet
from portal.orders.kernel.errors import Already, Overtaken, Refused, Unknown
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.ledger import account_of
from portal.store.tables import Job
from tests.factories import WHEELS, a_booked_job, a_job_in_work, a_token, events

OURS = ("tyre", "weights", "valve", "sensor")
ON_TYRES = {
    **WHEELS,
    "fitted": [*OURS, "centre_cap"],
    "removers": dict.fromkeys([*OURS, "centre_cap"], "you"),
}
DIGITS = "0123"


@pytest.fixture
def job(unit):
    return a_booked_job(unit, ON_TYRES, dropoff=timedelta(days=3))


def leave(unit, job, name, digits=DIGITS, **read) -> None:
    weighed = weigh_hand_over(unit, job.token, name)
    said = {"agreement": weighed.agreement, "event": str(weighed.last_event_id)} | read
    hand_over(unit, job.token, name, read=said, digits=digits, once_token=a_token())


def order(unit, job):
    with unit.read() as session:
        row = session.get(Job, job.job_id)
        return declared_of(row), account_of(session, row.id).total, row.promise_at


def test_the_list_has_what_the_customer_takes_off_and_says_where_a_machine_is_needed(
    unit, job
) -> None:
    view = preparation(unit, job.token)
    assert [one.item.value for one in view.at_tyre_shop] == ["weights", "tyre", "sensor", "valve"]
    assert [one.item for one in view.at_home] == [Item.CENTRE_CAP]
    # without a tyre a cap is all there is, and nobody needs a tyre shop
    bare = preparation(unit, a_booked_job(unit).token)
    assert [one.item for one in bare.tasks] == [Item.CENTRE_CAP]
    assert bare.tyre_shop is None


def test_ticks_are_kept_as_they_were_sent_and_sending_twice_is_harmless(unit, job) -> None:
    for _ in range(2):
        tick(unit, job.token, {"A-tyre", "A-centre_cap", "Z-tyre", "A-nothing"})
    assert preparation(unit, job.token).done == {"A-tyre", "A-centre_cap"}
    tick(unit, job.token, {"A-valve"})
    assert preparation(unit, job.token).done == {"A-valve"}
    with pytest.raises(Refused):
        tick(unit, a_job_in_work(unit).token, set())


def test_what_is_left_to_us_costs_what_was_told_and_staff_see_it(unit, job) -> None:
    tick(unit, job.token, {"A-centre_cap"})
    before, charged, _promise = order(unit, job)
    weighed = weigh_hand_over(unit, job.token, "A-centre_cap")
    assert weighed.total == charged + weighed.amount
    assert sum(one.amount.minor for one in weighed.lines) == weighed.amount.minor
    leave(unit, job, "A-centre_cap")
    after, total, promise_at = order(unit, job)
    assert (total, promise_at) == (weighed.total, weighed.ready_at)
    assert after.sets[0].removers[Item.CENTRE_CAP] is Remover.US
    assert before.sets[0].removers[Item.CENTRE_CAP] is Remover.YOU
    view = preparation(unit, job.token)
    assert view.task("A-centre_cap") is None
    assert view.done == frozenset()
    assert len(events(unit, job, "hand_over")) == 1
    with pytest.raises(Already):
        leave(unit, job, "A-centre_cap")


def test_with_the_tyre_goes_what_sits_under_it_and_the_tyre_shop_is_not_needed(unit, job) -> None:
    assert weigh_hand_over(unit, job.token, "A-sensor").amount.minor > 0
    leave(unit, job, "A-sensor")
    after, _, _ = order(unit, job)
    assert {after.sets[0].removers[Item(one)] for one in OURS} == {Remover.US}
    # who takes the tyres off puts them on again
    assert after.bringing is Bringing.COMPLETE
    assert preparation(unit, job.token).tyre_shop is None
    with pytest.raises(Unknown):
        tyre_shop_sheet(unit, job.token)


def test_wrong_digits_another_price_and_a_later_event_change_nothing(unit, job) -> None:
    was = order(unit, job)
    with pytest.raises(Refused) as refusal:
        leave(unit, job, "A-centre_cap", digits="9999")
    assert refusal.value.key == "digits"
    with pytest.raises(Overtaken):
        leave(unit, job, "A-centre_cap", agreement="1.20200101T0000")
    assert order(unit, job) == was
    # two tabs: the second one tells a price that holds no longer
    read = weigh_hand_over(unit, job.token, "A-centre_cap")
    leave(unit, job, "A-sensor")
    with pytest.raises(Overtaken):
        leave(unit, job, "A-centre_cap", agreement=read.agreement)
    with pytest.raises(Overtaken):
        leave(unit, job, "A-centre_cap", event=str(read.last_event_id))


def test_the_tyre_shop_is_told_what_comes_off_what_is_kept_and_which_seals_go_in(unit, job) -> None:
    sheet = tyre_shop_sheet(unit, job.token)
    assert sheet.work.wheels == 4
    assert [item.value for item, _ in sheet.work.off] == ["weights", "tyre", "sensor", "valve"]
    assert len(sheet.work.keep) == 4
    assert [one.key for one in sheet.work.on] == ["valve", "sensor", "tyre", "balance"]


def test_the_second_visit_moves_with_the_date_under_the_same_name(unit, job, clock) -> None:
    first = tyre_shop_entry(unit, job.token)
    clock.advance(minutes=5)

    def later(session) -> None:
        session.get_one(Job, job.job_id).promise_at += timedelta(days=1)

    unit.write(later)
    second = tyre_shop_entry(unit, job.token)
    assert second.uid == first.uid
    assert second.sequence > first.sequence
    assert second.start == first.start + timedelta(days=1)
