"""Letters to trade customers; the link in them asks for one that opens the firm's page."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from portal.craft.messages import Message
from portal.notices.sender import Sender
from portal.shop.money import Money
from portal.shop.states import LetterKind


@dataclass(frozen=True, slots=True)
class BookedSet:
    """One set of a list that was booked; `code` is shown in groups."""

    code: str
    reference: str
    summary: Message
    ready_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class FirmBooked:
    """All sets of a firm's list are booked for one drop-off time; `link` asks for its page."""

    kind: ClassVar[LetterKind] = LetterKind.FIRM_BOOKED
    sender: Sender
    locale: str
    link: str
    name: str
    dropoff_at: datetime
    dropoff_until: datetime
    fetched: bool
    sets: tuple[BookedSet, ...]
    total: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class FirmLinkLetter:
    """The link that opens a trade customer's page, once and before `until`."""

    kind: ClassVar[LetterKind] = LetterKind.FIRM_LINK
    sender: Sender
    locale: str
    link: str
    name: str
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class FirmInvoiceLetter:
    """A month's invoice is on the firm's page; `link` asks for a link to it."""

    kind: ClassVar[LetterKind] = LetterKind.FIRM_INVOICE
    sender: Sender
    locale: str
    link: str
    name: str
    number: str
    jobs: int
    total: Money
    due_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class FirmReminder:
    """A month's invoice was to be paid by `due_on`; `owed` is what is open of it."""

    kind: ClassVar[LetterKind] = LetterKind.FIRM_REMINDER
    sender: Sender
    locale: str
    link: str
    name: str
    number: str
    owed: Money
    due_on: date
