"""An invented language: every sentence is the English one in ⟦brackets⟧.

What is shown outside of them was never drawn for translation.
"""

import re
from pathlib import Path

from babel.dates import get_day_names, get_month_names
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo

from portal.craft.tables import csv_table
from portal.shop.shop import read_shop
from tests.house import catalogues
from tests.web.walk import CONTACT

WORD = re.compile(r"[^\W\d_]{3,}")
CODES = re.compile(
    r"\b[A-Z0-9]{4}-?[A-Z0-9]{4}(?:-\d+)?\b|\b[RV]\d{4}-[A-Z]\b|\bRAL \d{4}\b|\S+@\S*"
    r"|\bAT-[A-Z]+\b|\b[a-z_]+\.csv\b|\b[0-9a-f]{8}\b|\b(?:[A-Z2-7]{4} ){7}[A-Z2-7]{4}\b|g/cm³"
)
# the customer's and the shop's own words, and those of the test's parts
OWN = {
    "Robin",
    "Sample",
    "Brown",
    "estate",
    "Deutsch",
    "English",
    "Español",
    "VAT",
    "PDF",
    "GBP",
    "min",
}


def write_catalogue(folder: Path) -> Path:
    """Write the language as German into a folder, from the sentences of the sources."""
    invented = Catalog(locale="de", fuzzy=False)
    for one in catalogues.fresh():
        if one.id:
            both = isinstance(one.id, tuple)
            told = tuple(f"⟦{x}⟧" for x in one.id) if both else f"⟦{one.id}⟧"
            invented.add(one.id, told, context=one.context)
    home = folder / "de" / "LC_MESSAGES"
    home.mkdir(parents=True)
    with (home / "messages.mo").open("wb") as file:
        write_mo(file, invented)
    return folder


def outside(text: str, known: set[str]) -> list[str]:
    """The words of a text that stand in no brackets and are nobody's own."""
    before = ""
    while before != text:
        before, text = text, re.sub(r"⟦[^⟦⟧]*⟧", " ", text)
    # a sentence with an element in it is seen in pieces
    text = re.sub(r"^[^⟦⟧]*⟧|⟦[^⟦⟧]*$", " ", text)
    return [word for word in WORD.findall(CODES.sub(" ", text)) if word not in known]


def words_of(shop_text: str, powders_text: str) -> set[str]:
    shop = read_shop(shop_text, powders_text)
    rows = [" ".join(line.split(",")[:2]) for line in powders_text.splitlines()[1:] if line]
    # colours have official names, and the shop's texts are its own, in every language
    colours = [row[name] for row in csv_table("ral.csv") for name in row if name == "de"]
    own = [text for one in shop.translations.values() for text in one.values()]
    texts = [shop.name, *shop.address, shop.handling_note, *rows, *own, *colours, *CONTACT.values()]
    days = [
        name
        for width in ("wide", "abbreviated")
        for form in ("format", "stand-alone")
        for names in (get_day_names, get_month_names)
        for name in names(width, form, locale="de").values()
    ]
    return OWN | {word for text in (*texts, *days) for word in WORD.findall(str(text))}
