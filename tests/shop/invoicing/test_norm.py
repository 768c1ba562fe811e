"""Structured invoices against the norm's own schema and business rules (EN 16931-1, CII D22B)."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from facturx.parse_xml import parse_ubl_cii_xml
from hypothesis import given
from hypothesis import strategies as st

from portal.craft import reading
from portal.craft.messages import Message
from portal.shop.invoicing.compose import Charge, JobCharges, credit_of
from portal.shop.invoicing.document import InvoiceDocument, InvoiceKind, Party, SetOff
from portal.shop.invoicing.norm import has_norm, structured
from portal.shop.states import PaymentMethod
from tests.deep import examples
from tests.shop.invoicing.norm_rules import broken_rules
from tests.shop.invoicing.papers import BUYER, SELLER, paid, paper, words, work

WHY = "Small business: no VAT is charged"


def discounted() -> JobCharges:
    charges = (
        Charge(Message("Wheel: powder coated"), 7200, 4),
        Charge(Message("Rounding"), -50),
        Charge(Message("Discount"), -1000, with_tax=True),
    )
    return JobCharges("W9ND-EWHT", Decimal(19), True, charges, 6150)


CASES = {
    "open, to be transferred": paper(work(28800, 4999)),
    "paid by card": paper(work(28800), paid=(paid(28800),), due_on=None),
    "paid in cash": paper(work(28800), paid=(paid(28800, PaymentMethod.CASH),)),
    "prices without tax": paper(work(28800, 1, inclusive=False), tax_inclusive=False),
    "with a discount and a rounding line": paper(discounted()),
    "a gross that no net meets": paper(work(3)),
    "several jobs at two rates": paper(
        work(28800, code="W9ND-EWHT"),
        work(1999, percent="7", code="3WFY-RHW7"),
        supplied_from=date(2026, 11, 1),
    ),
    "a payment in advance": paper(
        work(6000),
        kind=InvoiceKind.DEPOSIT,
        supplied_on=None,
        paid=(paid(6000),),
        due_on=None,
    ),
    "a payment in advance set off": paper(
        work(28800),
        paid=(paid(6000),),
        set_off=(SetOff(number="D2026-0001", issued_on=date(2026, 11, 20), net=5042, tax=958),),
    ),
    "a credit note": replace(
        credit_of(paper(work(28800)), issued_on=date(2026, 11, 29), reason=Message("Wrong name")),
        number="C2026-0001",
    ),
    "without tax": paper(work(28800, percent="0"), no_tax_because=WHY),
    "in pounds": paper(
        work(28800, percent="20"),
        currency="GBP",
        seller=replace(SELLER, country="GB", vat_number="GB999999973"),
    ),
}


@pytest.mark.parametrize("document", CASES.values(), ids=CASES.keys())
def test_the_norm_finds_nothing_wrong(document: InvoiceDocument) -> None:
    assert has_norm(document, BUYER)
    assert broken_rules(structured(document, BUYER, words)) == []


@pytest.mark.parametrize(
    ("was", "now", "rule"),
    [
        ("284.03</ram:TaxBasisTotalAmount", "284.04</ram:TaxBasisTotalAmount", "BR-CO-13"),
        (">S<", ">Q<", ""),
        ("<ram:Name>Halden Garage</ram:Name>", "<ram:Name></ram:Name>", "BR-07"),
    ],
)
def test_a_planted_fault_is_found(was: str, now: str, rule: str) -> None:
    xml = structured(CASES["open, to be transferred"], BUYER, words).decode()
    assert was in xml
    found = broken_rules(xml.replace(was, now).encode())
    assert found
    assert any(rule in one for one in found)


@examples(15)
@given(st.lists(st.integers(1, 90_000), min_size=1, max_size=5), st.sampled_from(["7", "19"]))
def test_no_sum_breaks_a_rule(sums: list[int], percent: str) -> None:
    document = paper(work(*sums, percent=percent))
    assert broken_rules(structured(document, BUYER, words)) == []


def test_a_reader_of_such_invoices_gets_every_figure_back() -> None:
    document = CASES["a payment in advance set off"]
    found = parse_ubl_cii_xml(structured(document, BUYER, words))
    assert found["BT-1"] == document.number
    assert found["BT-72"] == document.supplied_on
    assert Decimal(str(found["BT-112"])) == Decimal(document.gross) / 100
    assert Decimal(str(found["BT-115"])) == Decimal(document.due) / 100
    assert found["BG-4"]["vat_identifier"] == SELLER.vat_number
    assert [one["BT-25"] for one in found["BG-3"]] == ["D2026-0001"]


@pytest.mark.parametrize(
    "document",
    [
        paper(work(100), seller=Party(name="Works", country="DE", vat_number="DE123456788")),
        paper(work(100), tax_shown=False),
        paper(work(100, percent="0")),  # no reason why (BR-E-10)
        paper(work(100), seller=replace(SELLER, country="US")),
    ],
    ids=["no address", "no tax number", "no reason", "another continent"],
)
def test_what_the_norm_would_refuse_is_not_offered(document: InvoiceDocument) -> None:
    assert not has_norm(document, BUYER)


def test_a_private_buyer_without_address_gets_none() -> None:
    assert not has_norm(paper(work(100)), Party(name="Robin Brown"))
    assert not has_norm(paper(work(100)), None)


@pytest.mark.parametrize("document", CASES.values(), ids=CASES.keys())
def test_a_stored_document_is_read_as_it_was(document: InvoiceDocument) -> None:
    assert reading.read(InvoiceDocument, reading.write(document)) == document
