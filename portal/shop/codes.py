"""Codes and links of jobs; a code has a check character (ISO/IEC 7064 MOD 37,36).

A person reads a code out and types it, so the body's alphabet has no look-alikes. The check
character is computed over the standard's own 36 characters, and a body whose check character would
be a look-alike is never issued, so that the check is exactly the standard's. Randomness comes in as
bytes.
"""

from collections.abc import Callable
from enum import StrEnum
from urllib.parse import urlsplit

from stdnum.iso7064 import mod_37_36

ALPHABET = "234679ACDEFHJKMNPRTVWXY"
BODY = 7
# only those typed characters that have exactly one possible twin in the alphabet
TWINS = str.maketrans({"Z": "2", "G": "6", "U": "V"})
BASE32 = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
TOKEN_LENGTH = 26
TOKEN_TWINS = str.maketrans({"0": "O", "1": "I", "8": "B"})

RandomBytes = Callable[[int], bytes]


class CodeReading(StrEnum):
    """The result of reading a typed text as a code."""

    CODE = "code"
    MISTYPED = "mistyped"
    NOT_A_CODE = "not_a_code"


def pick(alphabet: str, count: int, random_bytes: RandomBytes) -> str:
    """Return `count` characters of `alphabet`, each equally likely.

    The uneven tail of a byte's range is rejected.
    """
    limit = 256 - 256 % len(alphabet)
    out: list[str] = []
    while len(out) < count:
        out += [alphabet[b % len(alphabet)] for b in random_bytes(2 * count) if b < limit]
    return "".join(out[:count])


def new_code(random_bytes: RandomBytes) -> str:
    """Return a fresh code of eight characters, the last of them the check character."""
    while True:
        body = pick(ALPHABET, BODY, random_bytes)
        check = str(mod_37_36.calc_check_digit(body))
        code = body + check
        if check in ALPHABET and not code.isalpha() and not code.isdigit():
            return code


def new_token(random_bytes: RandomBytes) -> str:
    """Return 26 base-32 characters: 130 random bits, upper case for QR's alphanumeric mode."""
    return pick(BASE32, TOKEN_LENGTH, random_bytes)


def shown(code: str) -> str:
    """Format a code or a token in groups of four, easy to read out and to type."""
    return "-".join(code[i : i + 4] for i in range(0, len(code), 4))


def normalise(typed: str) -> str:
    """Return the input in the code's own alphabet: upper case, no separators."""
    # what is no letter of ours goes first: a dash may come as ß, whose capital is SS
    characters = "".join(ch for ch in typed if ch.isascii() and ch.isalnum())
    return characters.upper().translate(TWINS)


def read_code(typed: str) -> tuple[CodeReading, str]:
    """Return whether a text is a valid code, a mistyped one, or no code at all."""
    text = normalise(typed)
    if len(text) != BODY + 1:
        return (CodeReading.NOT_A_CODE, text)
    if set(text) <= set(ALPHABET) and mod_37_36.is_valid(text):
        return (CodeReading.CODE, text)
    # eight digits are a telephone number's, eight letters a name's; a code has both
    if text.isdigit() or text.isalpha():
        return (CodeReading.NOT_A_CODE, text)
    return (CodeReading.MISTYPED, text)


def read_token(typed: str) -> str:
    """Return a token as it was typed from paper: no separators, upper case, no look-alikes."""
    characters = "".join(ch for ch in typed if ch not in "- ")
    return characters.upper().translate(TOKEN_TWINS)


def status_link(base_url: str, token: str) -> str:
    """Return the link for people: `https://host/J/TOKEN`."""
    return f"{base_url.rstrip('/')}/J/{token}"


def printed_link(base_url: str, token: str) -> str:
    """Return the link for a QR symbol: upper case throughout, so that it takes fewer modules.

    Host names are the same in either case. A base address with a path of its own keeps its case,
    because paths are not.
    """
    link = status_link(base_url, token)
    return link if urlsplit(base_url).path.strip("/") else link.upper()


def typed_link(base_url: str, token: str) -> tuple[str, str]:
    """Return the link as it is printed to be typed: no scheme, then the token in groups of four."""
    return status_link(base_url, "").partition("://")[2], shown(token)
