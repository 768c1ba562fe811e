"""Letters about the work, and letters that confirm what a customer changed by the link."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from portal.craft.messages import Message
from portal.notices.job_letter import JobLetter
from portal.shop.money import Money
from portal.shop.states import FindingAnswer, LetterKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked(JobLetter):
    """What our tests showed: for each result the parts, none where it is all, and a sentence."""

    kind: ClassVar[LetterKind] = LetterKind.CHECKED
    results: tuple[tuple[tuple[int, ...], Message], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OnItsWay(JobLetter):
    """Parts have left for outside stripping; with `back` they have come back."""

    kind: ClassVar[LetterKind] = LetterKind.ON_ITS_WAY
    parts: int
    back_on: date
    back: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundAgain(JobLetter):
    """What was lost is here again: the part of a number, or the bag of a label.

    `answer` is the customer's to the question whether we go on without it; OPEN is taken back.
    """

    kind: ClassVar[LetterKind] = LetterKind.FOUND
    part: int | None = None
    bag: str = ""
    answer: FindingAnswer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishChanged(JobLetter):
    """The customer chose another finish by the link: which, the new price and the new date."""

    kind: ClassVar[LetterKind] = LetterKind.FINISH_CHANGED
    finish: Message
    amount: Money
    total: Money
    ready_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactChanged(JobLetter):
    """How the customer is reached was changed; it goes to the address from before."""

    kind: ClassVar[LetterKind] = LetterKind.CONTACT_CHANGED
    changed: tuple[Message, ...]


ProgressLetter = Checked | OnItsWay | FoundAgain | FinishChanged | ContactChanged
