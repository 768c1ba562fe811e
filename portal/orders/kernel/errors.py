"""Refusals, and what keeps the database from saving. Each has a sentence to act on."""

from datetime import datetime

from portal.craft.messages import Message


class Refusal(Exception):
    """The base of all refusals: the sentence, and the field it is about where there is one."""

    def __init__(self, sentence: Message, *, key: str = "") -> None:
        super().__init__(repr(sentence))
        self.sentence = sentence
        self.key = key


class Refused(Refusal):
    """A rule does not allow it, and trying again will not help."""


class Already(Refused):
    """It is already so; nothing was done a second time."""


class Overtaken(Refusal):
    """Somebody else changed it first; look at it as it is now."""


class Taken(Refusal):
    """The last one of something is gone."""


class Unknown(Refusal):
    """There is no such thing."""


class Expired(Refusal):
    """It existed, and its time is over."""


class Ended(Expired):
    """A draft that was kept until `at`; `booked` when it had become a job by then."""

    def __init__(self, sentence: Message, *, at: datetime, booked: bool) -> None:
        super().__init__(sentence)
        self.at = at
        self.booked = booked


class RateLimited(Refusal):
    """Too many tries; `seconds` until the next one is accepted."""

    def __init__(self, sentence: Message, *, seconds: int) -> None:
        super().__init__(sentence)
        self.seconds = seconds


class Busy(Exception):
    """The database was busy; trying again will help.

    It is no refusal: no form can tell it beside a field, so it goes through to the page that says
    that nothing was changed.
    """

    sentence = Message("The system is busy. Wait a moment, then try again.")


class Unavailable(Busy):
    """The database can't save or can't be reached: no room, read-only, gone."""

    sentence = Message(
        "We can't save anything at the moment. Try again in a few minutes, or call us."
    )
