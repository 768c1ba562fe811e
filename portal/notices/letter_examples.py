"""Invented letters, one of each kind, for the office's page that shows them all."""

from datetime import datetime
from typing import Any

from portal.craft.messages import Message
from portal.craft.parts import Item
from portal.craft.refit import recheck
from portal.notices.closed_letter import ClosedDay
from portal.notices.firm_letters import (
    BookedSet,
    FirmBooked,
    FirmInvoiceLetter,
    FirmLinkLetter,
    FirmReminder,
)
from portal.notices.letters import (
    Answered,
    AnyLetter,
    Booked,
    CalledOff,
    ComingUp,
    DropOffMoved,
    FindingRaised,
    HandedBack,
    LinkedJob,
    NewDate,
    NotBrought,
    NotFetched,
    OnTime,
    QuestionAnswered,
    QuestionAsked,
    Ready,
    Received,
    Recheck,
    ResumeLink,
    StatusLinks,
    StillWaiting,
    TestLetter,
)
from portal.notices.progress_letters import (
    Checked,
    ContactChanged,
    FinishChanged,
    FoundAgain,
    OnItsWay,
)
from portal.notices.sender import Sender
from portal.shop.money import Money
from portal.shop.pricing.statements import DateStatement, PriceStatement
from portal.shop.states import FindingAnswer, LetterKind


def example(kind: LetterKind, sender: Sender, currency: str, at: datetime) -> AnyLetter:
    """Return an invented letter of a kind, for the office's page that shows them all."""
    draft: dict[str, Any] = {
        "sender": sender,
        "locale": "en",
        "link": "https://portal.example.com/r/EXAMPLE",
        "until": at,
    }
    job: dict[str, Any] = {
        "sender": sender,
        "locale": "en",
        "link": "https://portal.example.com/J/EXAMPLE",
        "code": "4F7K-2M9P",
        "name": "Robin Example",
    }
    firm: dict[str, Any] = {
        "sender": sender,
        "locale": "en",
        "link": "https://portal.example.com/firm",
        "name": "Robin Example",
    }
    made: dict[LetterKind, AnyLetter] = {
        LetterKind.RESUME_LINK: ResumeLink(**draft),
        LetterKind.QUESTION_ASKED: QuestionAsked(**draft),
        LetterKind.QUESTION_ANSWERED: QuestionAnswered(
            **draft,
            name="Robin Example",
            question="Can you coat the inside of the rims too?",
            answer="Yes, it is part of the price.",
        ),
        LetterKind.BOOKED: Booked(
            **job,
            summary=Message("{count} × {parts}", count=4, parts=Message("wheels")),
            dropoff_at=at,
            dropoff_until=at,
            date=DateStatement(at, at),
            price=PriceStatement(Money(48_000, currency), Money(49_800, currency)).sentence,
            deposit=Money(9_600, currency),
            change_until=at,
        ),
        LetterKind.RECEIVED: Received(
            **job,
            parts=4,
            bags=1,
            date=DateStatement(at, at),
            agreed=((Message("Kerb damage on wheel 3"), Money(1_200, currency)),),
            total=Money(49_200, currency),
        ),
        LetterKind.FINDING: FindingRaised(
            **job,
            found=(
                (Message("Kerb damage on wheel 3"), Money(1_200, currency)),
                (Message("A bend in wheel 1"), Money(600, currency)),
            ),
            amount=Money(1_800, currency),
            total=Money(49_800, currency),
            days=1,
        ),
        LetterKind.NEW_DATE: NewDate(
            **job, was_at=at, now_at=at, because=Message("The oven is full.")
        ),
        LetterKind.ON_TIME: OnTime(**job, was_at=at, promised=at),
        LetterKind.CLOSED: ClosedDay(
            **job, times="https://portal.example.com/J/EXAMPLE/time", dropoff_at=at
        ),
        LetterKind.STILL_WAITING: StillWaiting(**job, found=True),
        LetterKind.COMING: ComingUp(
            **job,
            dropoff_at=at,
            dropoff_until=at,
            to_take_off=(Message(Item.TYRE.title), Message(Item.CENTRE_CAP.title)),
        ),
        LetterKind.RECHECK: Recheck(**job, says=recheck()),
        LetterKind.ANSWERED: Answered(
            **job, asked="Can I come an hour later?", answer="Yes, we are here until six."
        ),
        LetterKind.READY: Ready(
            **job,
            parts=4,
            bags=1,
            owed=Money(38_400, currency),
            hours=((at, at),),
        ),
        LetterKind.HANDED_BACK: HandedBack(
            **job,
            handbook=Message("If the vehicle's handbook says something else, follow the handbook."),
            link_until=at,
        ),
        LetterKind.NOT_BROUGHT: NotBrought(**job, dropoff_at=at),
        LetterKind.MOVED: DropOffMoved(
            **job, was_at=at, dropoff_at=at, dropoff_until=at, date=DateStatement(at, at)
        ),
        LetterKind.CALLED_OFF: CalledOff(
            **job, dropoff_at=at, given_back=Money(7_200, currency), kept=Money(2_400, currency)
        ),
        LetterKind.NOT_FETCHED: NotFetched(**job, until=at, hours=((at, at),)),
        LetterKind.STATUS_LINKS: StatusLinks(
            sender=sender,
            locale="en",
            name="Robin Example",
            jobs=(
                LinkedJob(
                    "4F7K-2M9P",
                    Message("{count} × {parts}", count=4, parts=Message("wheels")),
                    "https://portal.example.com/J/EXAMPLE",
                ),
            ),
        ),
        LetterKind.FIRM_BOOKED: FirmBooked(
            **firm,
            dropoff_at=at,
            dropoff_until=at,
            fetched=False,
            sets=(
                BookedSet(
                    "4F7K-2M9P",
                    "Order 77",
                    Message("{count} × {parts}", count=4, parts=Message("wheels")),
                    at,
                ),
            ),
            total=Money(48_000, currency),
        ),
        LetterKind.FIRM_LINK: FirmLinkLetter(**firm, until=at),
        LetterKind.FIRM_INVOICE: FirmInvoiceLetter(
            **firm, number="R2026-0042", jobs=12, total=Money(412_800, currency), due_on=at.date()
        ),
        LetterKind.FIRM_REMINDER: FirmReminder(
            **firm, number="R2026-0042", owed=Money(412_800, currency), due_on=at.date()
        ),
        LetterKind.CHECKED: Checked(
            **job, results=(((1, 2), Message("We checked the metal: aluminium.")),)
        ),
        LetterKind.ON_ITS_WAY: OnItsWay(**job, parts=4, back_on=at.date()),
        LetterKind.FOUND: FoundAgain(**job, part=3, answer=FindingAnswer.OPEN),
        LetterKind.FINISH_CHANGED: FinishChanged(
            **job,
            finish=Message("{system}, {colour}", system=Message("Plain colour"), colour="Black"),
            amount=Money(2_400, currency),
            total=Money(50_400, currency),
            ready_at=at,
        ),
        LetterKind.CONTACT_CHANGED: ContactChanged(
            **(job | {"link": ""}), changed=(Message("E-mail"),)
        ),
        LetterKind.TEST: TestLetter(sender=sender, locale="en", link="https://portal.example.com/"),
    }
    return made[kind]
