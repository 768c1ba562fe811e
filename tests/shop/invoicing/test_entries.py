"""What somebody typed for an invoice: buyer, numbers, bank; and what is still missing by law.

Numbers with right check digits are those of the registries' own manuals and of `python-stdnum`'s
documentation; nobody has them.
"""

from datetime import date
from decimal import Decimal

import pytest

from portal.craft.messages import CraftError, Message
from portal.craft.reading import read
from portal.shop.invoicing.buyer import LONGEST, buyer_from
from portal.shop.invoicing.compose import (
    ROUNDING,
    Charge,
    JobCharges,
    credit_of,
    lacks_of,
    lines_and_taxes,
    seller_of,
    tax_may_be_shown,
)
from portal.shop.invoicing.document import InvoiceKind, Party, SetOff, title_of
from portal.shop.invoicing.numbers import number_of, series_of
from portal.shop.invoicing.rules import InvoiceRules, invoice_rules
from portal.shop.invoicing.settings import (
    Invoicing,
    Numbers,
    Renewal,
    SellerEntries,
    read_invoicing,
    vat_number,
)
from portal.shop.money import Money
from tests.readers import english, refusing
from tests.shop.invoicing.papers import paid, paper, work

TYPED = {
    "name": "  Halden   Garage ",
    "street": "1 Mill Road",
    "postcode": "54321",
    "city": "Halden",
    "country": "DE",
    "vat_number": "de 136 695 976",
    "reference": "PO 17",
}
DAY = date(2026, 11, 28)
RULES = InvoiceRules(needs_tax_number=True, short_up_to=Decimal(250), deposit_taxed=True, years=6)


def test_a_buyer_is_read_as_typed_with_single_spaces() -> None:
    assert buyer_from(TYPED) == Party(
        name="Halden Garage",
        street="1 Mill Road",
        postcode="54321",
        city="Halden",
        country="DE",
        vat_number="DE136695976",
        reference="PO 17",
    )
    needed = {key: TYPED[key] for key in ("name", "street", "city", "country")}
    assert buyer_from(needed) == Party(
        name="Halden Garage", street="1 Mill Road", city="Halden", country="DE"
    )


@pytest.mark.parametrize(
    ("change", "key", "says"),
    [
        ({"name": " "}, "name", "Enter the name of the firm or person."),
        ({"street": ""}, "street", "Enter the street and number."),
        ({"city": ""}, "city", "Enter the town."),
        ({"country": ""}, "country", "Choose the country."),
        ({"vat_number": "DE136695977"}, "vat_number", "This is no VAT number. Check its digits."),
        (
            {"vat_number": "136695976"},
            "vat_number",
            "Begin with the two letters of the country, such as GB.",
        ),
    ],
)
def test_what_a_buyer_lacks_is_told_at_its_field(change, key: str, says: str) -> None:
    with refusing(CraftError, f"^{says}$") as caught:
        buyer_from({**TYPED, **change})
    assert caught.value.key == key


def test_a_number_of_another_place_is_kept_as_typed() -> None:
    assert buyer_from({**TYPED, "country": "US", "vat_number": "12-345"}).vat_number == "12-345"
    assert buyer_from({**TYPED, "vat_number": ""}).vat_number == ""


def test_every_entry_of_a_buyer_is_cut_to_what_a_line_holds() -> None:
    long = buyer_from({**dict.fromkeys(TYPED, "x" * (LONGEST + 1)), "country": "US"})
    texts = (
        long.name, long.street, long.postcode, long.city, long.vat_number, long.reference,
    )  # fmt: skip
    assert set(texts) == {"x" * 80}


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("", ""),
        (" - ", ""),
        ("de-136.695 976", "DE136695976"),
        ("GB 980 7806 84", "GB980780684"),
        ("ATU13585627", "ATU13585627"),
        ("CHE107787577", "CHE107787577"),  # no rule of its digits is known here
    ],
)
def test_a_vat_number_is_kept_without_spaces(typed: str, found: str) -> None:
    assert vat_number(typed) == found


@pytest.mark.parametrize("typed", ["GB980780685", "ATU13585626", "DE136695977"])
def test_a_vat_number_with_wrong_digits_is_refused(typed: str) -> None:
    with refusing(CraftError, r"^This is no VAT number\. Check its digits\.$"):
        vat_number(typed)


@pytest.mark.parametrize("typed", ["DE", "DE1", "D1234567", "1DE23456", "DE12345678901234"])
def test_a_vat_number_begins_with_its_country_and_has_2_to_13_characters(typed: str) -> None:
    with refusing(CraftError, r"^Begin with the two letters of the country, such as GB\.$"):
        vat_number(typed)


@pytest.mark.parametrize(
    ("entries", "says"),
    [
        # the example of the IBAN registry (ISO 13616) with its last digit changed
        ({"bank": {"iban": "GB29 NWBK 6016 1331 9268 18"}}, "This is no IBAN. Check its digits."),
        ({"bank": {"bic": "DEUT"}}, "Enter a BIC of 8 or 11 letters and digits."),
        (
            {"numbers": {"invoice": "r"}},
            "Use at most 8 capital letters, digits, dots and dashes.",
        ),
        (
            {"numbers": {"invoice": "A23456789"}},
            "Use at most 8 capital letters, digits, dots and dashes.",
        ),
    ],
)
def test_a_wrong_entry_is_refused_in_words(entries, says: str) -> None:
    with refusing(CraftError, says):
        read(Invoicing, entries)


def test_entries_are_kept_without_spaces_and_in_capitals() -> None:
    text = (
        '{"bank": {"iban": "gb29 nwbk 6016 1331 9268 19", "bic": "deutdeff 500"},'
        ' "numbers": {"invoice": "A-2.4567"}, "seller": {"name": " Works "}}'
    )
    found = read_invoicing(text)
    assert (found.bank.iban, found.bank.bic) == ("GB29NWBK60161331926819", "DEUTDEFF500")
    assert (found.numbers.invoice, found.seller.name) == ("A-2.4567", "Works")
    assert read_invoicing("{}") == Invoicing()
    assert (Invoicing().terms.days, Invoicing().numbers.digits) == (14, 4)


@pytest.mark.parametrize(
    ("kind", "renewal", "begins", "series"),
    [
        (InvoiceKind.INVOICE, Renewal.YEARLY, {}, "R2026-"),
        (InvoiceKind.RECEIPT, Renewal.YEARLY, {}, "R2026-"),
        (InvoiceKind.DEPOSIT, Renewal.YEARLY, {}, "D2026-"),
        (InvoiceKind.CREDIT_NOTE, Renewal.YEARLY, {}, "C2026-"),
        (InvoiceKind.INVOICE, Renewal.NEVER, {}, "R-"),
        (InvoiceKind.INVOICE, Renewal.NEVER, {"invoice": ""}, ""),
        (InvoiceKind.INVOICE, Renewal.NEVER, {"invoice": "R."}, "R."),
        (InvoiceKind.INVOICE, Renewal.NEVER, {"invoice": "-R7"}, "-R7-"),
    ],
)
def test_the_series_that_a_document_is_counted_in(kind, renewal, begins, series: str) -> None:
    assert series_of(kind, Numbers(renewal=renewal, **begins), DAY) == series


def test_a_number_is_filled_up_with_zeros() -> None:
    assert number_of("R2026-", 7, Numbers()) == "R2026-0007"
    assert number_of("R2026-", 12345, Numbers(digits=3)) == "R2026-12345"


OWN = SellerEntries(
    name="Fennholt Coating Works", street="4 Kiln Lane", postcode="12345", city="Fennholt",
    vat_number="DE136695976", tax_number="12/345", company_number="HRB 1", about="Register of X",
)  # fmt: skip


def test_the_seller_is_what_was_entered_and_else_the_works() -> None:
    works = {"name": "Works", "country": "DE", "phone": "+441632960471", "email": "w@example.com"}
    assert seller_of(Invoicing(seller=OWN), **works) == Party(
        name="Fennholt Coating Works", street="4 Kiln Lane", postcode="12345", city="Fennholt",
        country="DE", vat_number="DE136695976", tax_number="12/345", company_number="HRB 1",
        about="Register of X", phone="+441632960471", email="w@example.com",
    )  # fmt: skip
    assert seller_of(Invoicing(), **works) == Party(**works)


STREET = "Enter the street and town of the works."
NUMBER = "Enter the tax number. Until then, receipts show no tax and prove none."
WHY = "Enter why no tax is charged. The law wants it on each invoice."
HERE = {"street": "4 Kiln Lane", "city": "Fennholt"}


@pytest.mark.parametrize(
    ("own", "needed", "taxes", "lacks"),
    [
        ({}, True, True, [STREET, NUMBER]),
        ({}, True, False, [STREET, WHY]),
        ({"street": "4 Kiln Lane"}, False, True, [STREET]),
        ({"city": "Fennholt"}, False, False, [STREET]),
        (HERE, True, True, [NUMBER]),
        (HERE, False, True, []),
        (HERE, False, False, []),
        (HERE | {"tax_number": "12/345"}, True, True, []),
        (HERE | {"vat_number": "DE136695976"}, True, True, []),
        (HERE | {"no_tax_because": "Small business"}, True, False, []),
    ],
)
def test_what_the_law_of_a_place_still_wants(own, needed: bool, taxes: bool, lacks) -> None:
    entries = Invoicing(seller=SellerEntries(**own))
    rules = InvoiceRules(needs_tax_number=needed, short_up_to=None, deposit_taxed=True, years=1)
    assert [english(one) for one in lacks_of(entries, rules, taxes=taxes)] == lacks
    assert tax_may_be_shown(entries, rules, taxes=taxes) is (NUMBER not in lacks)


def test_a_credit_note_refers_to_the_document_and_asks_for_no_money() -> None:
    was = paper(work(28800), paid=(paid(6000),), terms="Within 14 days", number="R2026-0001")
    found = credit_of(was, issued_on=date(2026, 12, 1), reason=Message("Wrong name"))
    assert (found.kind, found.number, found.issued_on) == (
        InvoiceKind.CREDIT_NOTE, "", date(2026, 12, 1),
    )  # fmt: skip
    assert (found.refers_to, found.refers_on) == ("R2026-0001", DAY)
    assert (found.reason, found.paid, found.due_on, found.terms) == (
        Message("Wrong name"), (), None, "",
    )  # fmt: skip
    assert (found.lines, found.taxes, found.seller) == (was.lines, was.taxes, was.seller)


# the table's own rows: SI 1995/2518 reg. 16A (250), UStDV § 33 (250), UStG 1994 § 11 (400);
# Directive 2006/112/EC art. 220a (100) for a member without a row, none known elsewhere
@pytest.mark.parametrize(
    ("country", "limit"),
    [("GB", 250), ("DE", 250), ("AT", 400), ("PL", 100), ("JP", None), ("", None)],
)
def test_up_to_which_sum_a_receipt_needs_no_address(country: str, limit: int | None) -> None:
    assert invoice_rules(country).short_up_to == limit


def test_the_rules_of_a_place_are_read_from_their_own_columns() -> None:
    assert invoice_rules("GB") == InvoiceRules(
        needs_tax_number=True, short_up_to=Decimal(250), deposit_taxed=True, years=6
    )
    us = invoice_rules("US")
    assert (us.needs_tax_number, us.short_up_to, us.deposit_taxed) == (False, None, False)


def test_the_sums_of_a_document() -> None:
    found = paper(
        work(28800), work(1999, percent="7", code="3WFY-RHW7"), work(3, code=""), paid=(paid(6000),)
    )
    # 288.00 and 0.03 at 19 %: 242.04 + 45.99; 19.99 at 7 %: 18.68 + 1.31
    assert (found.net, found.tax) == (24204 + 1868, 4599 + 131)
    assert (found.gross, found.rounding, found.charged) == (30802, 0, 30802)
    assert (found.prepaid, found.due) == (6000, 24802)
    assert found.money(5) == Money(5, "EUR")
    assert found.jobs == ("W9ND-EWHT", "3WFY-RHW7")
    assert english(title_of(found)) == "Invoice R2026-0001"
    assert SetOff(number="D1", issued_on=DAY, net=5042, tax=958).gross == 6000


def test_a_rounding_of_the_norm_is_part_of_what_is_charged() -> None:
    """0.03 at 20 %: no net reaches it (0.02 + 0.00, 0.03 + 0.01), so a cent is left over."""
    found = paper(work(3, percent="20"))
    assert found.gross + found.rounding == found.charged == 3
    assert abs(found.rounding) == 1


# 100.00 at 19 % are 84.03 without tax; 95.00, or 79.83 without tax, were charged
@pytest.mark.parametrize(("inclusive", "charged", "added"), [(True, 9500, 500), (False, 7983, 420)])
def test_what_the_charges_lack_of_the_agreed_sum_is_a_line(inclusive, charged, added) -> None:
    work = Charge(Message("Work"), charged)
    job = JobCharges("W9ND-EWHT", Decimal(19), inclusive, (work,), 10_000)
    lines, (tax,) = lines_and_taxes([job])
    assert [(one.says, one.listed) for one in lines] == [(work.says, charged), (ROUNDING, added)]
    assert sum(one.net for one in lines) == tax.net == 8403


@pytest.mark.parametrize(
    ("country", "town"),
    [("DE", "54321 Halden"), ("GB", "Halden 54321"), ("US", "Halden 54321")],
)
def test_where_the_postcode_stands(country: str, town: str) -> None:
    assert Party(name="x", postcode="54321", city="Halden", country=country).town == town
    assert Party(name="x", city="Halden", country=country).town == "Halden"


def test_an_invoice_needs_name_street_town_and_country() -> None:
    whole = {"name": "x", "street": "1 Mill Road", "city": "Halden", "country": "DE"}
    assert Party(**whole).has_address
    for key in whole:
        assert not Party(**{**whole, key: ""}).has_address, key
