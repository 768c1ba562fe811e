"""The fields of a customer's name and e-mail address, for every page that asks for them."""

from flask_babel import lazy_gettext as _l

from portal.web.kit.forms import MailField, Required, TextField
from portal.web.kit.typed_text import Reads, mail_address, person_name


def contact_name() -> TextField:
    """Return the field of a customer's name."""
    own = {"autocomplete": "name"}
    asked = Required(_l("Enter your name."))
    return TextField(_l("Name"), [asked, Reads(person_name)], render_kw=own)


def contact_email() -> MailField:
    """Return the field of a customer's e-mail address."""
    asked = Required(_l("Enter your e-mail address."))
    return MailField(_l("E-mail"), [asked, Reads(mail_address)])
