"""To whom a customer's invoices are made out: kept with the customer, and erased with them."""

from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.invoice_rows import invoices_of, is_final, standing
from portal.shop.invoicing.document import Party
from portal.store.tables import Billing, Invoice, Job

ISSUED = Message("The invoice is issued already. Call us if it must be made out to someone else.")


def put_billing(session: Session, customer_id: int, party: Party) -> None:
    """Make a customer's invoices out to `party` from now on."""
    row = session.get(Billing, customer_id)
    if row is None:
        session.add(Billing(customer_id=customer_id, party=reading.write(party)))
    else:
        row.party = reading.write(party)
    session.flush()


def billing_of(session: Session, customer_id: int) -> Party | None:
    """Return to whom a customer's invoices are made out, where they said so."""
    row = session.get(Billing, customer_id)
    return reading.read(Party, row.party) if row is not None else None


def final_of(session: Session, job_id: int) -> Invoice | None:
    """Return the invoice or receipt of a job that stands, the last one."""
    for one in reversed(invoices_of(session, job_id)):
        if is_final(one.kind) and standing(session, one, job_id) > 0:
            return one
    return None


def refuse_if_issued(session: Session, job: Job) -> None:
    """Refuse to change the buyer of a job whose invoice is out."""
    if final_of(session, job.id) is not None:
        raise Refused(ISSUED)
