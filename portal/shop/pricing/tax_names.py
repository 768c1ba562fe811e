"""What a tax on sales is called by whoever reads a price: its kind has a name in each language."""

from portal.craft.messages import Message

# names of the value-added tax in the languages of its countries, as they stand on receipts
# (from memory)
VALUE_ADDED = frozenset(
    {"vat", "value added tax", "value-added tax", "mwst", "mehrwertsteuer", "ust", "umsatzsteuer"}
    | {"iva", "tva", "btw", "moms", "alv", "pdv", "dph"}
)


def tax_said(name: str) -> Message | str:
    """Return the name of a tax as a sentence of the catalogue; one of no known kind as it is."""
    return Message("VAT") if name.strip().rstrip(".").casefold() in VALUE_ADDED else name
