"""Writes a letter: each kind has `templates/letters/<kind>.{subject.txt,txt,html}`."""

import re
from dataclasses import dataclass

from portal.notices.letters import AnyLetter
from portal.notices.templates import environment
from portal.shop.states import LetterKind

LONGEST_SUBJECT = 200


@dataclass(frozen=True, slots=True)
class Written:
    """A letter ready to be queued."""

    kind: LetterKind
    subject: str
    text: str
    html: str
    calendar: str = ""


def write(letter: AnyLetter) -> Written:
    """Write a letter in its own language."""
    env = environment()
    name = letter.kind.value
    values = {"letter": letter, "reader": letter.sender.reader(letter.locale)}

    def part(ending: str) -> str:
        text = env.get_template(f"letters/{name}.{ending}").render(values).strip()
        # what a letter leaves out must not leave a hole
        return re.sub(r"\n{3,}", "\n\n", text)

    # a line break in a subject would end the header
    subject = " ".join(part("subject.txt").split())
    return Written(
        kind=letter.kind,
        subject=subject[:LONGEST_SUBJECT],
        text=part("txt") + "\n",
        html=part("html") + "\n",
        calendar=getattr(letter, "calendar", ""),
    )
