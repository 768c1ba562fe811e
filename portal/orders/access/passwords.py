"""Passwords and PINs: rules, hashing, verification."""

import re
from functools import lru_cache
from itertools import pairwise

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from portal.craft.messages import Message
from portal.orders.access.common_passwords import is_common
from portal.orders.kernel.errors import Refused

# ASVS 5.0, 6.2: length alone counts; eight characters do where a second factor stands beside them
SHORTEST_ALONE = 15
SHORTEST_WITH_CODE = 8
LONGEST = 256
PIN_DIGITS = (4, 8)
# words that anybody tries first: of passwords, of keyboards, of this trade and of this portal; the
# sign-in name counts as one. What is left of a password without them must still be a secret
GUESSED = (
    "password", "passwort", "contraseña", "qwerty", "qwertz", "asdfgh", "zxcvbn", "yxcvbn",
    "letmein", "welcome", "willkommen", "bienvenido", "iloveyou", "administrator", "admin",
    "secret", "geheim", "secreto", "monkey", "dragon", "football", "sunshine", "princess",
    "portal", "powdercoating", "powder", "coating", "wheels", "wheel", "pulver", "felgen",
    "felge", "llantas", "counter", "office", "floor", "works", "werkstatt", "taller",
)  # fmt: skip
BETWEEN = re.compile(r"[\s\d._-]")
LEAST_LETTERS = 4

# Argon2id with the library's figures (RFC 9106, second recommended option: 64 MiB, t=3, p=4)
_hasher = PasswordHasher()


def hashed(secret: str) -> str:
    """Return the salted Argon2id hash of a password or PIN."""
    return str(_hasher.hash(secret))


def fits(stored_hash: str, secret: str) -> bool:
    """Whether `secret` belongs to the hash `kept`; takes as long when there is no hash."""
    nobody = _nobody()  # made by whoever comes first, known name or not
    try:
        matched = bool(_hasher.verify(stored_hash or nobody, secret))
    except (VerificationError, InvalidHashError):
        return False
    return matched and bool(stored_hash)


def must_be_good(password: str, *, login: str, with_code: bool) -> None:
    """Refuse a password that is too short, too long, or too common."""
    shortest = SHORTEST_WITH_CODE if with_code else SHORTEST_ALONE
    if len(password) < shortest:
        raise Refused(
            Message("Use at least {n} characters. A few words in a row work well.", n=shortest),
            key="password",
        )
    if len(password) > LONGEST:
        raise Refused(Message("Use at most {n} characters.", n=LONGEST), key="password")
    if len(_own_letters(password, login)) < LEAST_LETTERS or is_common(password):
        raise Refused(
            Message("This password is too easy to guess. Use a few words in a row."), key="password"
        )


def _own_letters(password: str, login: str) -> set[str]:
    """Return the different letters of a password, without words that anybody tries."""
    left = password.lower()
    for word in sorted((login.lower(), *GUESSED), key=len, reverse=True):
        left = left.replace(word, "")
    return set(BETWEEN.sub("", left))


def must_be_a_pin(pin: str) -> None:
    """Refuse an invalid PIN, or one of the most guessed."""
    low, high = PIN_DIGITS
    if not (pin.isascii() and pin.isdigit() and low <= len(pin) <= high):
        raise Refused(
            Message("Use {low} to {high} digits for a PIN.", low=low, high=high), key="pin"
        )
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
    if len(steps) == 1 and steps <= {0, 1, 9}:
        raise Refused(
            Message("Choose a PIN that is not a sequence such as 1234 or one repeated digit."),
            key="pin",
        )


@lru_cache(maxsize=1)
def _nobody() -> str:
    # an unknown login costs the same time as a wrong password, so that nobody can tell them apart
    return hashed("the password of nobody")
