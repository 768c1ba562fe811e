"""What stands of a letter in a message to a browser: what it is about, and where to read it."""

from portal.craft.messages import Message
from portal.notices.letters import AnyLetter, WrittenLetter
from portal.render.text import render


def brief(letter: AnyLetter) -> WrittenLetter:
    """Return the kind of a letter as its subject, the works and the link as its text."""
    subject = render(Message(letter.kind.title), letter.sender.reader(letter.locale))
    return WrittenLetter(letter.kind, subject, f"{letter.sender.name}\n{letter.link}\n", "")
