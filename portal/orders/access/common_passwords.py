"""The passwords that everybody tries first: those that most people had, by a published list.

`common_passwords.txt.xz` beside this file says where it comes from; it has the 3,500 most common of
8 to 14 characters, and as many of 15 and more (ASVS 5.0, 6.2.4 asks for 3,000 that the rules of
length let through).
"""

import lzma
import re
from functools import lru_cache
from importlib import resources

FILE = "common_passwords.txt.xz"
BETWEEN = re.compile(r"[\s._-]+")


def is_common(password: str) -> bool:
    """Return whether a password is a common one, however it is capitalized or spaced."""
    small = password.lower()
    return not common_passwords().isdisjoint({small, BETWEEN.sub("", small)})


@lru_cache(maxsize=1)
def common_passwords() -> frozenset[str]:
    """Return the list, in lower case; it is read when the first password is chosen."""
    packed = resources.files("portal.orders.access").joinpath(FILE).read_bytes()
    lines = lzma.decompress(packed).decode("utf-8").splitlines()
    return frozenset(line for line in lines if not line.startswith("#"))
