"""What a shop's invoices say of it: the document `invoicing` of the shop.

Seller, bank, numbers, terms and a bookkeeper's accounts. Every entry may stay empty; what the law
of the place wants and isn't there is told by `invoicing.seller`.
"""

import json
import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Annotated

from pydantic import AfterValidator
from stdnum import bic, iban
from stdnum.eu import vat
from stdnum.gb import vat as gb_vat

from portal.craft.messages import CraftError, Message
from portal.craft.reading import read
from portal.craft.schema import Label, Table, Text, longest, whole
from portal.craft.titled import Titled

MARK = re.compile(r"[A-Z0-9.-]{0,8}")


class Renewal(Titled):
    """When the numbers of a series begin anew."""

    YEARLY = "yearly", "Every year from 1, with the year in the number"
    NEVER = "never", "Never"


def vat_number(text: str) -> str:
    """Return a VAT number without spaces; check its digits where its country's rule is known."""
    plain = re.sub(r"[\s.-]", "", text).upper()
    if not plain:
        return ""
    if not re.fullmatch(r"[A-Z]{2}[A-Z0-9+*]{2,13}", plain):
        raise CraftError(Message("Begin with the two letters of the country, such as GB."))
    known = gb_vat.is_valid(plain) if plain.startswith("GB") else True
    if plain[:2].lower() in vat.MEMBER_STATES:
        known = vat.is_valid(plain)
    if not known:
        raise CraftError(Message("This is no VAT number. Check its digits."))
    return plain


def _iban(text: str) -> str:
    plain = re.sub(r"\s", "", text).upper()
    if plain and not iban.is_valid(plain):
        raise CraftError(Message("This is no IBAN. Check its digits."))
    return plain


def _bic(text: str) -> str:
    plain = re.sub(r"\s", "", text).upper()
    if plain and not bic.is_valid(plain):
        raise CraftError(Message("Enter a BIC of 8 or 11 letters and digits."))
    return plain


def _mark(text: str) -> str:
    if not MARK.fullmatch(text):
        raise CraftError(Message("Use at most 8 capital letters, digits, dots and dashes."))
    return text


def _pay_link(text: str) -> str:
    """Return an address of the web with at most the places that are filled for each order."""
    plain = text.strip()
    left = re.sub(r"\{(?:sum|currency|code)\}", "", plain)
    if plain and not re.fullmatch(r"https://[A-Za-z0-9.-]+(?::[0-9]+)?(?:[/?][!-z~]*)?", left):
        raise CraftError(
            Message(
                "Enter an address that begins with https://. You may use {places} in it.",
                places="{sum} {currency} {code}",
            )
        )
    return plain


Line = Annotated[Text, longest(80), AfterValidator(str.strip)]
Lines = Annotated[Text, longest(400), AfterValidator(str.strip)]
VatNumber = Annotated[Text, longest(24), AfterValidator(vat_number)]
Mark = Annotated[Text, AfterValidator(_mark)]


@dataclass(frozen=True, slots=True, kw_only=True)
class SellerEntries(Table):
    """Who issues: the name and address that the law wants on every invoice."""

    name: Annotated[Line, Label(Message("Name of the business, if it isn't the works' name"))] = ""
    street: Annotated[Line, Label(Message("Street and number"))] = ""
    postcode: Annotated[Line, Label(Message("Postcode"))] = ""
    city: Annotated[Line, Label(Message("Town"))] = ""
    vat_number: Annotated[
        VatNumber, Label(Message("VAT number, with the letters of the country"))
    ] = ""
    tax_number: Annotated[Line, Label(Message("Other tax number"))] = ""
    company_number: Annotated[Line, Label(Message("Company number"))] = ""
    about: Annotated[
        Lines, Label(Message("More that must stand on letters (register, managers)"), long=True)
    ] = ""
    no_tax_because: Annotated[
        Line, Label(Message("Why no tax is charged, if the prices have none"))
    ] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bank(Table):
    """Where transfers go."""

    holder: Annotated[Line, Label(Message("Account holder"))] = ""
    iban: Annotated[Text, AfterValidator(_iban), Label(Message("IBAN"))] = ""
    bic: Annotated[Text, AfterValidator(_bic), Label(Message("BIC"))] = ""
    other: Annotated[
        Lines, Label(Message("Account without an IBAN: bank, sort code, number"), long=True)
    ] = ""
    pay_link: Annotated[
        Text,
        longest(300),
        AfterValidator(_pay_link),
        Label(Message("Your page for payments, with the places for sum, currency and code")),
    ] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers(Table):
    """How documents are numbered. Equal beginnings share one series."""

    invoice: Annotated[Mark, Label(Message("Invoices and receipts begin with"))] = "R"
    deposit: Annotated[Mark, Label(Message("Receipts for payments in advance begin with"))] = "D"
    credit: Annotated[Mark, Label(Message("Credit notes begin with"))] = "C"
    renewal: Annotated[Renewal, Label(Message("Numbers begin anew"))] = Renewal.YEARLY
    digits: Annotated[int, whole(1, 8), Label(Message("Digits, filled up with zeros"))] = 4
    first: Annotated[int, whole(1, 99_999_999), Label(Message("First number of a new series"))] = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms(Table):
    """When an invoice that stays open is to be paid."""

    days: Annotated[int, whole(0, 120), Label(Message("Days to pay"), unit=Message("days"))] = 14
    words: Annotated[Lines, Label(Message("Payment terms, in your own words"), long=True)] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Accounts(Table):
    """A bookkeeper's accounts; they stand in the exported table."""

    sales: Annotated[Line, Label(Message("Sales"))] = ""
    deposits: Annotated[Line, Label(Message("Deposits received"))] = ""
    cash: Annotated[Line, Label(Message("Cash"))] = ""
    card: Annotated[Line, Label(Message("Card"))] = ""
    transfer: Annotated[Line, Label(Message("Bank transfer"))] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Invoicing(Table):
    """The whole document."""

    seller: Annotated[SellerEntries, Label(Message("Seller"))] = field(
        default_factory=SellerEntries
    )
    bank: Annotated[Bank, Label(Message("Bank account"))] = field(default_factory=Bank)
    numbers: Annotated[Numbers, Label(Message("Numbers"))] = field(default_factory=Numbers)
    terms: Annotated[Terms, Label(Message("Payment terms"))] = field(default_factory=Terms)
    accounts: Annotated[Accounts, Label(Message("Bookkeeper's accounts"))] = field(
        default_factory=Accounts
    )


@lru_cache(maxsize=8)
def read_invoicing(entries: str) -> Invoicing:
    """Return the document from its JSON, read once."""
    return read(Invoicing, json.loads(entries))
