"""The demo's shop file, from which an owner begins: each key is explained where it stands."""

import re

from tests.house.files import HOUSE

SHOP = HOUSE / "demo_seed" / "shop.toml"
KEY = re.compile(r"^(\w+) = ")
# what everybody reads without help
PLAIN = frozenset({"name", "address", "phone", "email", "street", "postcode", "city"})


def unexplained(text: str) -> list[str]:
    """Return the keys with no comment in their line, above it, or at the head of their table.

    Of tables side by side ([stations.prep], [stations.blast]) the first one explains the others.
    """
    found, table, told, above, depth = [], "", False, False, 0
    known: set[tuple[str, str]] = set()
    for line in text.splitlines():
        bare, _, said = line.partition("#")
        if line.startswith("["):
            told = bool(said) or above
            table = bare.strip()
        elif (key := KEY.match(line)) and not depth:
            beside = (table.rpartition(".")[0], key[1])
            if said or told or above or key[1] in PLAIN:
                known.add(beside)
            elif not beside[0] or beside not in known:
                found.append(f"{table} {key[1]}")
        depth += bare.count("[") - bare.count("]") if not line.startswith("[") else 0
        above = line.startswith("#")
    return found


def test_every_key_of_the_shop_file_is_explained() -> None:
    assert unexplained(SHOP.read_text("utf-8")) == []


def test_a_key_without_a_word_is_found() -> None:
    text = "[a] # what it is\nx = 1\n[b]\ny = [\n  { z = 1 },\n]\n# said above\nz = 3\nname = ''\n"
    assert unexplained(text) == ["[b] y"]
