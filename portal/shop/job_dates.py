"""The dates of a job, as everybody reads them: its customer, the counter, the office.

The promise is the date. Beside it stands at most one more: the later one that the customer was told
in its place, or the day from which the job is probably ready.
"""

from dataclasses import dataclass
from datetime import date, datetime

from portal.shop.moves import JobState
from portal.shop.pricing.statements import DateStatement

Day = date  # for where a name stands in its way


@dataclass(frozen=True, slots=True)
class JobDates:
    """The promise of a job, as stated, and what was told since.

    `told_at` is the later date that its customer was told in place of the promise; `early_from` the
    day from which it is probably ready. `foreseen_at` is the forecast, which staff alone read.
    """

    state: JobState
    statement: DateStatement
    told_at: datetime | None = None
    early_from: date | None = None
    foreseen_at: datetime | None = None

    @property
    def now_by(self) -> datetime | None:
        """The later date that stands in place of the promise, while the parts are here."""
        return self.told_at if self.state.is_in_house else None

    @property
    def due(self) -> datetime:
        """The date on which the customer counts."""
        return self.now_by or self.statement.promised

    @property
    def probably_from(self) -> date | None:
        """The day from which the job is probably ready; None where it has several dates already."""
        return self.early_from if self.state.is_in_house and self.statement.firm else None

    @property
    def will_be_late(self) -> datetime | None:
        """The forecast where it is past what the customer was told: staff see it first."""
        ahead = self.state.is_in_house or self.state is JobState.BOOKED
        later = self.foreseen_at is not None and self.foreseen_at > self.due
        return self.foreseen_at if ahead and later else None

    def overdue(self, now: datetime) -> bool:
        """Return whether what the customer was told has passed, and the parts aren't ready."""
        return self.state.is_in_house and self.due < now
