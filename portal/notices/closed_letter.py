"""The letter about a day on which the works is closed."""

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from portal.craft.messages import Message
from portal.notices.sender import Sender
from portal.shop.states import LetterKind


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedDay:
    """The works is closed when parts were to be dropped off, or were to be ready.

    `dropoff_at` is a drop-off that falls on it: `times` is where another can be chosen. `was_at` is
    a promise that falls on it and `now_at` the open hour to which it moved. `why` is what the works
    says of the closure. `open_again` takes it back: the drop-off stands after all.
    """

    kind: ClassVar[LetterKind] = LetterKind.CLOSED
    sender: Sender
    locale: str
    link: str
    code: str
    name: str = ""
    times: str = ""
    why: Message | None = None
    dropoff_at: datetime | None = None
    was_at: datetime | None = None
    now_at: datetime | None = None
    open_again: bool = False
