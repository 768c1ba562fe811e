"""To whom an invoice is made out: the same fields for customers and staff."""

from collections.abc import Mapping
from typing import Any

from flask_babel import lazy_gettext as _l
from phonenumbers import SUPPORTED_REGIONS

from portal.craft.messages import CraftError
from portal.render.catalogues import locale_of
from portal.shop.invoicing.buyer import buyer_from
from portal.shop.invoicing.document import Party
from portal.web.kit.forms import OnceForm, SelectChoiceField, TextField
from portal.web.kit.i18n.languages import language
from portal.web.kit.request_context import shop

FIELDS = ("name", "street", "postcode", "city", "country", "vat_number", "reference")
LONGEST = 80


def countries() -> list[tuple[str, Any]]:
    """Return code and name of every country, in the alphabet of the page's language."""
    names = locale_of(language()).territories
    found = [(code, names[code]) for code in SUPPORTED_REGIONS if code in names]
    return sorted(found, key=lambda one: str(one[1]).casefold())


class BuyerForm(OnceForm):
    """Name, address and tax number of a firm, or of a person who wants an invoice."""

    name = TextField(_l("Name of the firm or person"), longest=LONGEST)
    street = TextField(
        _l("Street and number"), longest=LONGEST, render_kw={"autocomplete": "address-line1"}
    )
    postcode = TextField(_l("Postcode"), longest=12, render_kw={"autocomplete": "postal-code"})
    city = TextField(_l("Town"), longest=LONGEST, render_kw={"autocomplete": "address-level2"})
    country = SelectChoiceField(_l("Country"), choices=countries)
    vat_number = TextField(_l("VAT number"), longest=20)
    reference = TextField(_l("Your order number, to stand on the invoice"), longest=40)

    def show(self, party: Party | None) -> None:
        """Fill the fields with what is known."""
        self.country.data = party.country if party else shop().country
        if party is not None:
            for name in FIELDS:
                self[name].data = getattr(party, name)

    def party(self) -> Party | None:
        """Return the buyer, or None with the error beside its field."""
        typed: Mapping[str, str] = {name: str(self[name].data or "") for name in FIELDS}
        try:
            return buyer_from(typed)
        except CraftError as wrong:
            self.add_error(wrong.key, wrong.sentence)
            return None
