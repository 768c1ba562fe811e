"""What somebody whom nobody knows may ask of us in a day: bookings, and letters to an address."""

import hashlib
from collections.abc import Sequence
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message, Phone
from portal.orders.intake.draft_answers import Contact
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.moves import JobState
from portal.store.jobs import Customer
from portal.store.tables import Job, SignInTry

A_DAY = timedelta(days=1)
# bookings that were not brought yet, and all of a day, called off ones among them
MOST_OPEN, MOST_A_DAY = 3, 6
# letters that anybody can have sent: to one address, and from one place
MOST_LETTERS = {"letter-to": 6, "letter-from": 30}


@read_only
def may_book(unit: UnitOfWork, session: Session, contact: Contact) -> None:
    """Raise Refused with the key of a field where this contact has as many bookings as may be."""
    refuse_many(unit, session, contact)


def refuse_many(unit: UnitOfWork, session: Session, contact: Contact) -> None:
    """Raise Refused where a telephone number or e-mail address has booked too often."""
    at = unit.now()
    # few of years of jobs, each found by an index; an address in any letter case has none
    # written so that the index of firms isn't taken, by which nearly all jobs are of none
    of_no_firm = sa.func.coalesce(Job.firm_id, 0) == 0
    waits, is_new = Job.state == JobState.BOOKED, Job.booked_at > at - A_DAY
    for key, same in (
        ("phone", Customer.phone == contact.phone),
        ("email", sa.func.lower(Customer.email) == contact.email.lower()),
    ):
        if not getattr(contact, key):
            continue
        waiting, of_day = (sa.func.count(sa.case((one, 1))) for one in (waits, is_new))
        still, today = session.execute(
            sa.select(waiting, of_day)
            .join(Customer, Customer.id == Job.customer_id)
            .where(same, sa.or_(waits, is_new), of_no_firm)
        ).one()
        if still >= MOST_OPEN or today >= MOST_A_DAY:
            raise Refused(_too_many(unit, session, key, still), key=key)


def _too_many(unit: UnitOfWork, session: Session, key: str, still: int) -> Message:
    phone = Phone(unit.shop(session).phone)
    if still < MOST_OPEN:
        return Message(
            "You have booked several times today. Call us for another order: {phone}", phone=phone
        )
    if key == "phone":
        return Message(
            "With this phone number {n} orders are booked and not brought yet. Bring them first, "
            "or call us for another one: {phone}",
            n=still,
            phone=phone,
        )
    return Message(
        "With this e-mail address {n} orders are booked and not brought yet. Bring them first, or "
        "call us for another one: {phone}",
        n=still,
        phone=phone,
    )


def letter_keys(to: str, address: str) -> list[str]:
    """Return what is counted of a letter that a stranger has sent: to whom, and from where."""
    return [
        f"letter-{kind}:{hashlib.sha256(text.encode()).hexdigest()[:32]}"
        for kind, text in (("to", to.lower()), ("from", address))
    ]


def count_letter(session: Session, keys: Sequence[str], at: datetime) -> None:
    """Count a letter that a stranger has sent; raise Refused where the day had enough of them."""
    for key in keys:
        sent = sa.select(sa.func.count()).where(SignInTry.key == key, SignInTry.at > at - A_DAY)
        if (session.scalar(sent) or 0) >= MOST_LETTERS[key.partition(":")[0]]:
            raise Refused(
                Message(
                    "We have sent several letters there today. Check your inbox and your spam "
                    "folder, or try again tomorrow."
                ),
                key="email",
            )
        session.add(SignInTry(key=key, at=at))
    session.flush()
