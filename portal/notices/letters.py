"""Letters to customers: a small dataclass in, subject, text and HTML out.

A letter holds nothing remote: no picture, no tracking, no link but the customer's own. Each kind
has three templates, `templates/letters/<kind>.{subject.txt,txt,html}`.
"""

import re
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from portal.craft.answers import RefitStep
from portal.craft.messages import Message
from portal.notices.closed_letter import ClosedDay
from portal.notices.firm_letters import (
    FirmBooked,
    FirmInvoiceLetter,
    FirmLinkLetter,
    FirmReminder,
)
from portal.notices.job_letter import JobLetter
from portal.notices.progress_letters import ProgressLetter
from portal.notices.sender import Sender
from portal.notices.templates import environment
from portal.shop.money import Money
from portal.shop.pricing.statements import DateStatement
from portal.shop.states import LetterKind

LONGEST_SUBJECT = 200


@dataclass(frozen=True, slots=True)
class WrittenLetter:
    """A letter ready to be queued."""

    kind: LetterKind
    subject: str
    text: str
    html: str
    calendar: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftLetter:
    """The way back to a draft. `until` is when the draft is erased."""

    sender: Sender
    locale: str
    link: str
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ResumeLink(DraftLetter):
    """The way back to a draft, on another device."""

    kind: ClassVar[LetterKind] = LetterKind.RESUME_LINK


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionAsked(DraftLetter):
    """We have a question that was asked before booking."""

    kind: ClassVar[LetterKind] = LetterKind.QUESTION_ASKED


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionAnswered:
    """The answer to it, and the way back. Without `until` the order has been booked since."""

    kind: ClassVar[LetterKind] = LetterKind.QUESTION_ANSWERED
    sender: Sender
    locale: str
    link: str
    name: str
    question: str
    answer: str
    until: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Booked(JobLetter):
    """An order is booked. `calendar` is the drop-off as an iCalendar text."""

    kind: ClassVar[LetterKind] = LetterKind.BOOKED
    summary: Message
    dropoff_at: datetime
    dropoff_until: datetime
    date: DateStatement
    price: Message
    colour_open: bool = False
    deposit: Money | None = None
    change_until: datetime | None = None
    calendar: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Received(JobLetter):
    """The parts are here and were checked.

    `agreed` is what was changed with the customer at the counter, each with its change of the
    price; `total` is then the price with all of it.
    """

    kind: ClassVar[LetterKind] = LetterKind.RECEIVED
    parts: int
    bags: int
    date: DateStatement
    agreed: tuple[tuple[Message, Money], ...] = ()
    total: Money | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingRaised(JobLetter):
    """Something differs from what was declared and needs the customer's answer.

    `found` is what was found, each with its change of the price; `amount` is the change of all
    together, `total` what the order would come to.
    """

    kind: ClassVar[LetterKind] = LetterKind.FINDING
    found: tuple[tuple[Message, Money], ...]
    amount: Money
    total: Money
    days: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class NewDate(JobLetter):
    """The date that was told can't be kept; `because` says in plain words why."""

    kind: ClassVar[LetterKind] = LetterKind.NEW_DATE
    was_at: datetime
    now_at: datetime
    because: Message | None = None
    calendar: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnTime(JobLetter):
    """The promise holds after all; `was_at` is the later date that was told meanwhile."""

    kind: ClassVar[LetterKind] = LetterKind.ON_TIME
    was_at: datetime
    promised: datetime
    calendar: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StillWaiting(JobLetter):
    """A reminder: the job waits for an answer to what was found, for a colour, or for a call."""

    kind: ClassVar[LetterKind] = LetterKind.STILL_WAITING
    found: bool = False
    colour: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PickupLetter(JobLetter):
    """The next times at which the parts can be picked up, from and until.

    `with_code` tells whether a code is asked for: it stands on the page of the job, for who knows
    the telephone.
    """

    with_code: bool = True
    hours: tuple[tuple[datetime, datetime], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready(PickupLetter):
    """The job can be picked up."""

    kind: ClassVar[LetterKind] = LetterKind.READY
    parts: int
    bags: int
    owed: Money
    monthly: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedBack(JobLetter):
    """The parts were collected: how to fit them safely."""

    kind: ClassVar[LetterKind] = LetterKind.HANDED_BACK
    steps: tuple[RefitStep, ...] = ()
    handbook: Message | None = None
    link_until: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NotBrought(JobLetter):
    """The drop-off passed and nobody came."""

    kind: ClassVar[LetterKind] = LetterKind.NOT_BROUGHT
    dropoff_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class DropOffMoved(JobLetter):
    """The drop-off is at another time, and the parts are ready on another day."""

    kind: ClassVar[LetterKind] = LetterKind.MOVED
    was_at: datetime
    dropoff_at: datetime
    dropoff_until: datetime
    date: DateStatement
    calendar: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CalledOff(JobLetter):
    """The order was called off before the parts were brought; `calendar` takes the drop-off out.

    `given_back` is what was paid and comes back, `kept` what the shop keeps by its terms.
    """

    kind: ClassVar[LetterKind] = LetterKind.CALLED_OFF
    dropoff_at: datetime
    given_back: Money | None = None
    kept: Money | None = None
    calendar: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ComingUp(JobLetter):
    """The parts are to be brought tomorrow; `to_take_off` is what still has to come off."""

    kind: ClassVar[LetterKind] = LetterKind.COMING
    dropoff_at: datetime
    dropoff_until: datetime
    to_take_off: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Recheck(JobLetter):
    """The wheels have been driven for some days: check nuts and bolts, as `says` tells."""

    kind: ClassVar[LetterKind] = LetterKind.RECHECK
    says: Message


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered(JobLetter):
    """Our answer to what the customer wrote by the link: a question, or what is wrong (`case`)."""

    kind: ClassVar[LetterKind] = LetterKind.ANSWERED
    asked: str
    answer: str
    case: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class NotFetched(PickupLetter):
    """Ready parts that nobody has collected; they are kept until `until`."""

    kind: ClassVar[LetterKind] = LetterKind.NOT_FETCHED
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class TestLetter:
    """What the office sends itself to see whether letters arrive."""

    kind: ClassVar[LetterKind] = LetterKind.TEST
    sender: Sender
    locale: str
    link: str


@dataclass(frozen=True, slots=True)
class LinkedJob:
    """A job of which somebody has lost the link: its code as shown, what it is, its page."""

    code: str
    summary: Message
    link: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StatusLinks:
    """The pages of all open orders of one address, sent because somebody asked for them."""

    kind: ClassVar[LetterKind] = LetterKind.STATUS_LINKS
    sender: Sender
    locale: str
    name: str
    jobs: tuple[LinkedJob, ...]

    @property
    def link(self) -> str:
        """The page of the newest order."""
        return self.jobs[0].link


AnyLetter = (
    ResumeLink
    | QuestionAsked
    | QuestionAnswered
    | Booked
    | Received
    | FindingRaised
    | NewDate
    | Ready
    | HandedBack
    | NotBrought
    | DropOffMoved
    | CalledOff
    | NotFetched
    | Answered
    | ComingUp
    | Recheck
    | StatusLinks
    | OnTime
    | StillWaiting
    | ClosedDay
    | ProgressLetter
    | FirmBooked
    | FirmLinkLetter
    | FirmInvoiceLetter
    | FirmReminder
    | TestLetter
)


def write(letter: AnyLetter) -> WrittenLetter:
    """Write a letter in its own language."""
    env = environment()
    name = letter.kind.value
    values = {"letter": letter, "reader": letter.sender.reader(letter.locale)}

    def part(suffix: str) -> str:
        text = env.get_template(f"letters/{name}.{suffix}").render(values).strip()
        # what a letter leaves out must not leave a hole
        return re.sub(r"\n{3,}", "\n\n", text)

    # a line break in a subject would end the header
    subject = " ".join(part("subject.txt").split())
    return WrittenLetter(
        kind=letter.kind,
        subject=subject[:LONGEST_SUBJECT],
        text=part("txt") + "\n",
        html=part("html") + "\n",
        calendar=getattr(letter, "calendar", ""),
    )
