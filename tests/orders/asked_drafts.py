"""A draft about which somebody asks, for the tests of questions."""

import io
from dataclasses import replace

import sqlalchemy as sa
from PIL import Image

from portal.craft.declared import read_declared
from portal.orders.intake import drafts, questions
from tests.factories import a_token

SET = {"kind": "wheel", "count": 4, "build": "cast", "rim": "8Jx18 ET35"}
ASKING = questions.Asking(
    "Can you do the inside too?", "Robin Sample", "robin@example.com", "+447700900123"
)


def a_draft(unit) -> str:
    draft = drafts.begin(unit, locale="de")
    declared = read_declared({"sets": [SET]})
    drafts.save(unit, draft, "set:A", 1, lambda a: replace(a, declared=declared))
    return draft


def ask(unit, token, said=ASKING, *, once="", address="192.0.2.1") -> None:
    questions.ask(unit, token, said, once_token=once or a_token(), address=address)


def rows(unit, table):
    with unit.read() as session:
        return list(session.scalars(sa.select(table)))


def count(unit, table) -> int:
    with unit.read() as session:
        return session.scalar(sa.select(sa.func.count()).select_from(table))


def a_photo() -> io.BytesIO:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "steelblue").save(out, "JPEG")
    out.seek(0)
    return out
