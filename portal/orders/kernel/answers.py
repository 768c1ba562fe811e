"""The answer in words to something that a customer asked, before booking or by the link."""

from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused

LONGEST_ANSWER = 4000


def read_answer(typed: str) -> str:
    """Return the answer; raise Refused with key `answer` where there is none or too much."""
    words = typed.strip()
    if not words:
        raise Refused(Message("Enter your answer."), key="answer")
    return not_too_long(words)


def not_too_long(words: str) -> str:
    """Return the words; raise Refused with key `answer` where there are too many."""
    if len(words) > LONGEST_ANSWER:
        raise Refused(Message("Use at most {n} characters.", n=LONGEST_ANSWER), key="answer")
    return words
