"""Garages whom nobody had in mind: lists in any order of columns, language and care.

A garage is drawn from a seed. It pastes its list, reads what is wrong beside each cell, corrects
that cell alone, and books. What the page told must be what was booked.
"""

import random
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from flask import Flask

from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.states import LetterKind
from portal.store.tables import Letter
from tests.garage import a_garage, fields_of, jobs_of_firm, paste
from tests.page import Page, words

HEADS = {
    "reference": ["Your reference", "Kennzeichen", "Kunde", "matrícula", "REF"],
    "parts": ["Parts", "Teil", "pieza"],
    "count": ["How many", "Anzahl", "cantidad", "Qty"],
    "size": ["Size", "Größe", "tamaño", "Felge"],
    "made_of": ["Made of", "Werkstoff", "material"],
    "old_finish": ["Old finish", "Altlack", "acabado actual"],
    "damage": ["Damage", "Schaden", "daños"],
    "on_them": ["On them now", "Reifen", "neumáticos"],
    "coats": ["Coats", "Aufbau", "capas"],
    "gloss": ["Gloss", "Glanz", "brillo"],
    "colour": ["Colour", "Farbe", "RAL"],
    "wanted": ["Needed by", "Termin", "fecha"],
    "note": ["Note", "Bemerkung", "nota"],
}
CELLS = {
    "reference": ["Order 1", "AB 12 CDE", "Kunde Ä", "", "=1+1", "<b>x</b>"],
    "count": ["4", "2", "4x", "4.0", "4 Stück", "1"],
    "size": ["8J x 18 ET35", "18", "225/45 R17", "8,5J x 19", '17"', "?"],
    "made_of": ["cast", "alu", "Stahl", "", "?", "forged"],
    "old_finish": ["original", "Pulver", "", "original + chrome", "?"],
    "damage": ["", "kerb", "none", "Bordstein"],
    "on_them": ["", "bare", "mit Reifen", "off"],
    "coats": ["", "single", "einschichtig"],
    "gloss": ["satin", "seidenglänzend", "satinado"],
    "colour": ["RAL 9005", "9005", "ral9005", "sample", "Muster"],
    "wanted": ["", "2099-01-01", "31.12.2099"],
    "note": ["", "ring first", "Ö" * 100],
    "parts": ["", "wheels", "Felgen", "llantas"],
}
CALIPERS = {"parts": "calipers", "size": "", "made_of": "", "old_finish": "", "on_them": "bare"}
NOISE = ["", "x", "four", "ultraviolet", "?!", "0", "-1", "😀", "a" * 250, "1.2.3", "\u202e"]
# what a garage writes once it has read what is wrong
GOOD = {
    "parts": "wheels",
    "count": "4",
    "size": "8J x 18 ET35",
    "gloss": "satin",
    # a number that several powders have is answered with one of their names
    "colour": "Jet black satin",
}


@dataclass
class Garage:
    """One garage with its habits."""

    draw: random.Random

    def table(self) -> str:
        """Return the list as it copies it."""
        order = list(HEADS)
        if self.draw.random() < 0.6:
            self.draw.shuffle(order)
            heads = [self.draw.choice(HEADS[name]) for name in order]
        else:
            heads, order = [], ORDER
        between = self.draw.choice("\t;")
        rows = [heads] if heads else []
        count = self.draw.randint(1, 6)
        rows += [self._row(order) for _ in range(count)]
        return "\n".join(between.join(row) for row in rows)

    def _row(self, order: list[str]) -> list[str]:
        """Return a set of wheels, or now and then calipers, whose size is the usual one."""
        calipers = CALIPERS if self.draw.random() < 0.2 else {}
        return [calipers.get(name, self._cell(name)) for name in order]

    def _cell(self, name: str) -> str:
        return self.draw.choice(NOISE if self.draw.random() < 0.06 else CELLS[name])


ORDER = [
    "reference", "parts", "count", "size", "made_of", "old_finish", "damage", "on_them", "coats",
    "gloss", "colour", "wanted", "note",
]  # fmt: skip


def visit(app: Flask, unit: UnitOfWork, seed: int) -> int:
    """Let one garage come from paste to booking; return how many sets it booked."""
    garage = Garage(random.Random(seed))
    client, firm_id = a_garage(app, unit, name=f"Garage {seed}", email=f"g{seed}@example.com")
    path = paste(client, garage.table())
    for _ in range(4):
        page = Page(client.get(path).text)
        wrong = {one.get("name") for one in page.all("input", aria_invalid="true")}
        if not wrong:
            break
        fixed = {name: GOOD.get(str(name).partition("-")[2], "") for name in wrong}
        client.post(path, data=fields_of(page, path) | fixed | {"do": "save"})
    page = Page(client.get(path).text)
    assert not page.all("li", data_state="wrong"), words(page.one("ol", class_="firm-rows"))
    told = _figure(words(page.one("p", class_="owed")))
    data = fields_of(page, path) | {"do": "book", "confirmed": "y"}
    assert client.post(path, data=data).status_code == 303
    jobs = jobs_of_firm(unit, firm_id)
    assert len(jobs) == len(page.all("li", data_state="good"))
    assert sum(_charged(unit, job) for job in jobs) == told
    assert _letters(unit) == [f"g{seed}@example.com"]
    return len(jobs)


def _figure(text: str) -> int:
    """Return the sum at the beginning of a text, in minor units."""
    digits = text.split(maxsplit=1)[0].strip("£").replace(",", "")
    pounds, _, pence = digits.partition(".")
    return int(pounds) * 100 + int(pence or 0)


def _letters(unit: UnitOfWork) -> list[str]:
    """Return to whom a booked list was confirmed."""
    with unit.read() as session:
        query = sa.select(Letter.to).where(Letter.kind == LetterKind.FIRM_BOOKED)
        return list(session.scalars(query))


def _charged(unit: UnitOfWork, job: Any) -> int:
    with unit.read() as session:
        return account_of(session, job.id).total.minor
