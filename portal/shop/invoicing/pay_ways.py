"""How a customer can pay from home what is owed on an order: by transfer, or on the shop's page."""

from dataclasses import dataclass
from urllib.parse import quote

from portal.shop.invoicing.settings import Bank, Invoicing
from portal.shop.invoicing.transfer_code import transfer_code
from portal.shop.money import Money


@dataclass(frozen=True, slots=True)
class PayWays:
    """The ways of a shop for one sum. `code` fills in a transfer, `link` is the shop's own page."""

    due: Money
    reference: str
    holder: str
    bank: Bank
    code: str | None
    link: str

    @property
    def transfers(self) -> bool:
        """Whether the shop tells an account."""
        return bool(self.bank.iban or self.bank.other)


def pays_from_home(invoicing: Invoicing) -> bool:
    """Return whether a shop tells any way to pay from home."""
    bank = invoicing.bank
    return bool(bank.iban or bank.other or bank.pay_link)


def pay_ways(invoicing: Invoicing, shop_name: str, due: Money, reference: str) -> PayWays:
    """Return the ways to pay `due`, with `reference` as the text by which it is found."""
    bank = invoicing.bank
    seller = invoicing.seller.name or shop_name
    filled = {"sum": due.plain, "currency": due.currency, "code": reference}
    link = bank.pay_link
    for place, value in filled.items():
        link = link.replace("{" + place + "}", quote(value, safe=""))
    code = transfer_code(bank, seller, due.major, due.currency, reference)
    return PayWays(due, reference, bank.holder or seller, bank, code, link)
