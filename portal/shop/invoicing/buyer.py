"""Whom an invoice is made out to, as somebody typed it."""

from collections.abc import Mapping

from portal.craft.messages import CraftError, Message
from portal.shop.invoicing.document import Party
from portal.shop.invoicing.rules import BY_THE_NORM
from portal.shop.invoicing.settings import vat_number

NEEDED = {
    "name": Message("Enter the name of the firm or person."),
    "street": Message("Enter the street and number."),
    "city": Message("Enter the town."),
    "country": Message("Choose the country."),
}
LONGEST = 80


def buyer_from(typed: Mapping[str, str]) -> Party:
    """Return the buyer; raise CraftError, with the field's name, for what is missing or wrong."""
    given = {key: " ".join(text.split()) for key, text in typed.items()}
    for key, sentence in NEEDED.items():
        if not given.get(key):
            raise CraftError(sentence, key=key)
    number = given.get("vat_number", "")
    if number and given["country"] in BY_THE_NORM:
        try:
            number = vat_number(number)
        except CraftError as wrong:
            raise CraftError(wrong.sentence, key="vat_number") from None
    return Party(
        name=given["name"][:LONGEST],
        street=given["street"][:LONGEST],
        postcode=given.get("postcode", "")[:LONGEST],
        city=given["city"][:LONGEST],
        country=given["country"],
        vat_number=number[:LONGEST],
        reference=given.get("reference", "")[:LONGEST],
    )
