"""Each field of the structured invoices of `test_norm`, line by line, in `norm_figures.txt`.

Whether the norm allows them is asked there of its own rules. Here nothing may move unnoticed;
`tests.shop.figures` draws the file anew.
"""

import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import pytest

from portal.shop.invoicing.document import InvoiceDocument
from portal.shop.invoicing.norm import structured
from tests.shop.figures import kept
from tests.shop.invoicing.papers import BUYER, words
from tests.shop.invoicing.test_norm import CASES

FILE = Path(__file__).with_name("norm_figures.txt")


def told(document: InvoiceDocument) -> Iterator[str]:
    yield from _leaves(ET.fromstring(structured(document, BUYER, words)), "")  # our own


def _leaves(one: ET.Element, above: str) -> Iterator[str]:
    path = f"{above}/{one.tag.rpartition('}')[2]}"
    told = "".join(f" {name}={value}" for name, value in one.attrib.items())
    if not len(one):
        yield f"{path.removeprefix('/CrossIndustryInvoice')}{told} {one.text}"
    for below in one:
        yield from _leaves(below, path)


SCENES: dict[str, Callable[[], Iterator[str]]] = {
    name: partial(told, document) for name, document in CASES.items()
}


@pytest.mark.parametrize("name", SCENES)
def test_what_stands_in_a_structured_invoice(name: str) -> None:
    assert list(SCENES[name]()) == kept(FILE)[name]


# UNTDID 4461: cash, bank card, SEPA and other credit transfer
@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("open, to be transferred", "58"),
        ("in pounds", "30"),
        ("paid by card", "48"),
        ("paid in cash", "10"),
    ],
)
def test_how_it_is_paid_has_its_code(name: str, code: str) -> None:
    (line,) = (one for one in told(CASES[name]) if "PaymentMeans/TypeCode" in one)
    assert line.split()[-1] == code
