"""The demo's garage: a trade customer with prices, jobs and an invoice of a past month."""

from dataclasses import replace
from datetime import date

import sqlalchemy as sa

from portal.craft.parts import Bringing, Declared
from portal.orders.counter import new_order
from portal.orders.intake.draft_answers import Contact
from portal.orders.intake.draft_view import Times
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office import firms, firms_view, monthly
from portal.shop.invoicing.document import Party
from portal.shop.states import TellBy
from portal.store.tables import Job

GARAGE = firms.FirmData(
    name="Halden Garage",
    party=Party(
        name="Halden Garage Ltd",
        street="1 Mill Road",
        postcode="FN2 3QX",
        city="Fennholt",
        country="GB",
    ),
    terms_days=14,
    code="H-017",
    contact="Alex Halden",
    email="garage@example.com",
    phone="+441632960017",
    bringing=Bringing.BARE,
    limit_minor=250_000,
)
PRICES = {"percent_off": "10", "tyre_off": "5", "tyre_on": "8"}


def add_garage(unit: UnitOfWork, *, who: int) -> int:
    """Add the garage with its prices, and return its number."""
    firm_id = firms.add_firm(unit, GARAGE, who=who)
    firms.put_firm_prices(unit, firm_id, PRICES, starts_on=None, who=who)
    return firm_id


def book_for_garage(
    unit: UnitOfWork, firm_id: int, declared: Declared, vehicle: str, wanted: date, *, who: int
) -> int:
    """Book a set of the garage for the first drop-off from a day on; return the job's number."""
    contact = Contact(GARAGE.name, GARAGE.email, GARAGE.phone, TellBy.EMAIL, vehicle)
    entered = new_order.Entered(declared, contact, here=False, firm_id=firm_id)
    offers = new_order.new_order_view(unit, entered, times=Times.ALL).offers
    with unit.read() as session:
        week = unit.shop(session).week
    slot = next(one.start for one in offers if week.local(one.start).date() >= wanted)
    entered = replace(entered, slot=slot)
    view = new_order.new_order_view(unit, entered)
    assert view.assessment is not None
    code = new_order.take_in(
        unit,
        entered,
        agreed=view.agreement,
        confirmed=[one.key for one in view.assessment.to_confirm],
        once_token=f"demo-{vehicle}",
        who=who,
    )
    with unit.read() as session:
        return int(session.scalars(sa.select(Job.id).where(Job.code == code)).one())


def issue_months(unit: UnitOfWork, firm_id: int, *, who: int) -> None:
    """Issue what waits of the garage, month by month."""
    for waiting in firms_view.firm(unit, firm_id).waiting:
        draft = monthly.month_draft(unit, firm_id, waiting.month)
        monthly.issue(
            unit,
            firm_id,
            draft.month,
            stamp=draft.stamp,
            once_token=f"demo-{draft.month:%Y%m}",
            who=who,
        )
