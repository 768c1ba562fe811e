"""Letters that the counter's verbs queue, in their own transaction."""

from sqlalchemy.orm import Session

from portal.orders.unit import Unit
from portal.store.jobs import Finding, Job


def letter_received(unit: Unit, session: Session, job: Job) -> None:
    """Tell the customer that the parts are here."""


def letter_finding(unit: Unit, session: Session, job: Job, finding: Finding) -> None:
    """Tell the customer about a finding that waits for an answer."""


def letter_ready(unit: Unit, session: Session, job: Job) -> None:
    """Tell the customer that the job can be picked up."""


def letter_handed_back(unit: Unit, session: Session, job: Job) -> None:
    """Send the refit guide along with thanks."""


def letter_not_brought(unit: Unit, session: Session, job: Job) -> None:
    """Ask whether the parts still come."""
