"""A garage whose jobs are billed at the month's end, with its money counted beside it."""

from datetime import date

import sqlalchemy as sa

from portal.orders.counter import hand_back
from portal.orders.counter.hand_back import HandBack
from portal.orders.office import month_payments, month_view, monthly
from portal.shop.ledger import EntryKind
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.tables import InvoiceJob, Part
from tests.day.day import Day
from tests.factories import a_job_at, a_token, last_event_id
from tests.firms import a_firm

WAY = PaymentMethod.TRANSFER


def garage(day: Day, size: int) -> None:
    """Hand sets back unpaid, issue the month, pay it wrongly and rightly, cancel it and again."""
    firm_id = a_firm(day.unit, prices={"percent_off": "7.5"})
    jobs = [_collected(day, firm_id) for _ in range(size + 1)]
    day.let_off(jobs[0], EntryKind.DISCOUNT)
    number = _issue(day, firm_id, jobs)
    shares = _pay(day, number, jobs, day.draw.randint(1, _owed(day, jobs)))
    if day.draw.random() < 0.7:
        _put_right(day, number, shares)
    day.let_off(jobs[-1], EntryKind.GOODWILL)
    if day.draw.random() < 0.5:
        monthly.cancel(day.unit, number, "wrong order", once_token=a_token(), who=day.who)
        day.said["months cancelled"] += 1
        number = _issue(day, firm_id, jobs)
    if (rest := _owed(day, jobs)) > 0:
        _pay(day, number, jobs, rest)
    for job_id in jobs:
        day.give_back(job_id)
    assert not [one for one in month_view.who_owes(day.unit) if one.firm_id == firm_id]
    _documents_say_what_accounts_say(day, jobs)


def _collected(day: Day, firm_id: int) -> int:
    job = a_job_at(day.unit, PartStage.DONE, firm_id=firm_id, first_tag=day.next_tag())
    day.open(job.job_id)
    hand_back.make_ready(day.unit, job.job_id, who=day.who)
    with day.unit.read() as session:
        query = sa.select(Part.number).where(Part.job_id == job.job_id)
        parts = tuple(session.scalars(query))
    given = HandBack(pickup_code=job.pickup_code, parts=parts, bags=(), paid_minor=0, how=None)
    hand_back.hand_back(
        day.unit,
        job.job_id,
        given,
        expected_event_id=last_event_id(day.unit, job),
        once_token=a_token(),
        who=day.who,
    )
    day.said["handed back on the month"] += 1
    return job.job_id


def _issue(day: Day, firm_id: int, jobs: list[int]) -> str:
    with day.unit.read() as session:
        today: date = day.unit.shop(session).day(day.unit.now())
    draft = monthly.month_draft(day.unit, firm_id, today.replace(day=1))
    assert draft.total.minor == sum(day.account(one).total.minor for one in jobs)
    day.said["months issued"] += 1
    return monthly.issue(
        day.unit, firm_id, draft.month, stamp=draft.stamp, once_token=a_token(), who=day.who
    )


def _pay(day: Day, number: str, jobs: list[int], minor: int) -> dict[int, int]:
    """Pay an invoice; beside it the jobs are filled one after the other. Return their shares."""
    shares = {}
    month_payments.pay(day.unit, number, minor, WAY, once_token=a_token(), who=day.who)
    day.drawer[WAY] += minor
    for job_id in sorted(jobs):
        share = min(minor, max(0, day.purses[job_id].owed))
        day.purses[job_id].received += share
        shares[job_id] = share
        minor -= share
    assert minor == 0
    day.said["months paid"] += 1
    return shares


def _put_right(day: Day, number: str, shares: dict[int, int]) -> None:
    (payment,) = month_view.firm_invoice(day.unit, number).payments
    more = {"once_token": a_token(), "who": day.who}
    month_payments.reverse_payment(day.unit, payment.payment_id, "another firm's", **more)
    day.drawer[WAY] -= payment.amount.minor
    for job_id, share in shares.items():
        day.purses[job_id].received -= share
    day.said["payments of months reversed"] += 1


def _owed(day: Day, jobs: list[int]) -> int:
    return sum(max(0, day.purses[one].owed) for one in jobs)


def _documents_say_what_accounts_say(day: Day, jobs: list[int]) -> None:
    with day.unit.read() as session:
        for job_id in jobs:
            shares = sa.select(sa.func.sum(InvoiceJob.amount_minor)).where(
                InvoiceJob.job_id == job_id
            )
            assert session.scalar(shares) == day.account(job_id).total.minor, job_id
