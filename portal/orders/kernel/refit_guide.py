"""The refit guide of a job."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from portal.craft.answers import RefitStep
from portal.craft.declared import read_declared
from portal.craft.messages import Message
from portal.craft.refit import guide_for
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.codes import shown
from portal.store.tables import Job


@dataclass(frozen=True, slots=True)
class Refit:
    """The guide of one job, as it stands on paper."""

    token: str
    code: str
    summary: Message
    steps: tuple[RefitStep, ...]


@read_only
def refit(unit: UnitOfWork, session: Session, token: str) -> Refit:
    """Return the guide of the job behind a link; Unknown for a link that is none, or is over."""
    job = behind(session, token, unit.now(), Job.token, Job.code, Job.summary, Job.declared)
    return Refit(job.token, shown(job.code), job.summary, guide_for(read_declared(job.declared)))
