"""What all letters about a job have."""

from dataclasses import dataclass

from portal.notices.sender import Sender


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLetter:
    """A letter about a job: its code as shown, its link, its owner's name."""

    sender: Sender
    locale: str
    link: str
    code: str
    name: str = ""
