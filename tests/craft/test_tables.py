"""The tables beside the code: each names its source, and none of its sentences is lost."""

import re
from pathlib import Path

import pytest
from babel.messages.extract import extract as babel_extract

from portal.craft import tables
from portal.craft.appraise import Practice, appraise
from portal.craft.looks import CoatRole
from portal.craft.parts import Bringing, Damage, Declared, Item, Layer, PartKind, System
from portal.craft.refit import guide
from portal.craft.table_sentences import extract
from tests.craft.shelf import SHELF, finish, part, wheels
from tests.craft.test_appraise import said_in

DATA = Path(tables.__file__).with_name("data")
FILES = sorted(DATA.iterdir())


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_table_begins_with_what_it_is_and_where_it_is_from(path):
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# ")
    comments = " ".join(re.findall(r"^#.*$", text, re.MULTILINE)).lower()
    assert re.search(
        r"common practice|from memory|as remembered|listed in|\.com|\.de|iso ", comments
    )


def in_tables():
    found = set()
    for path in FILES:
        if path.suffix == ".toml":
            with path.open("rb") as file:
                found |= {text for _, _, text, _ in extract(file)}
    return found


def in_code():
    """Every text inside a Message(…) of the code, joined as Python joins neighbouring literals."""
    source = "\n".join(path.read_text(encoding="utf-8") for path in DATA.parent.glob("*.py"))
    literal = r'"(?:[^"\\]|\\.)*"'
    calls = re.findall(rf"Message\(\s*((?:{literal}\s*)+)", source)
    return {"".join(part[1:-1] for part in re.findall(literal, call)) for call in calls}


def test_every_sentence_that_is_shown_can_be_found_for_a_catalogue():
    known = in_tables() | in_code() | {role.title for role in CoatRole}
    orders = [
        Declared(
            sets=(
                wheels(
                    layers=tuple(Layer),
                    damage=tuple(Damage),
                    fitted=tuple(Item),
                    finish=finish(system, colour),
                ),
                part(PartKind.CALIPER, fitted=(Item.SEALS,)),
                part(PartKind.RAILING, damage=tuple(Damage)),
            ),
            bringing=Bringing.WHOLE_CAR,
            original_before_1980=True,
        )
        for system, colour in ((System.SINGLE, "BLACK"), (System.TRANSLUCENT, "CANDY"))
    ]
    answers = [appraise(order, Practice(stock=SHELF, place="DE")) for order in orders]
    shown = {said.msgid for said in said_in([*answers, guide(orders[0].sets, Item)])}
    assert len(shown) > 100
    assert shown - known == set()


def test_babel_takes_the_sentences_by_its_own_door():
    with (DATA / "refit.toml").open("rb") as file:
        found = list(babel_extract("portal.craft.table_sentences:extract", file, {"Message": None}))
    assert {message for _, message, _, _ in found} >= {
        "Have the wheels balanced",
        "Check before you fit",
    }


def test_an_extracted_sentence_knows_its_line():
    path = DATA / "cautions.toml"
    lines = path.read_text(encoding="utf-8").splitlines()
    with path.open("rb") as file:
        found = list(extract(file))
    assert len(found) > 40
    assert all(text in lines[number - 1] for number, _, text, _ in found)
