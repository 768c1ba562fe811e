"""The text of the QR code with which a bank's program fills in a transfer.

EPC069-12, "Quick response code: guidelines to enable data capture for the initiation of a SEPA
credit transfer": version 002 (BIC optional), UTF-8, euro alone; error correction level M, at most
331 bytes.
"""

from decimal import Decimal

from portal.shop.invoicing.settings import Bank

EURO = "EUR"
MOST_BYTES = 331
LONGEST_NAME, LONGEST_TEXT = 70, 140
LEAST, MOST = Decimal("0.01"), Decimal("999999999.99")


def transfer_code(bank: Bank, seller: str, due: Decimal, currency: str, text: str) -> str | None:
    """Return what the code says, or None where no such transfer can be made.

    `due` is in euro; `text` names the document.
    """
    if currency != EURO or not bank.iban or not LEAST <= due <= MOST:
        return None
    name = (bank.holder or seller)[:LONGEST_NAME]
    rows = [
        "BCD", "002", "1", "SCT", bank.bic, name, bank.iban, f"EUR{due:.2f}", "", "",
        text[:LONGEST_TEXT],
    ]  # fmt: skip
    code = "\n".join(rows)
    return code if len(code.encode()) <= MOST_BYTES else None
