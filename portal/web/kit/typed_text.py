"""Parsers of what people really type into fields of text, and their error messages."""

import re
import unicodedata
from collections.abc import Callable, Iterable
from decimal import Decimal
from typing import Any

import phonenumbers
from email_validator import EmailNotValidError, validate_email
from flask_babel import lazy_gettext as _l
from wtforms import Field
from wtforms.validators import StopValidation
from wtforms.widgets import TextInput

from portal.craft.bringing import DEAREST
from portal.shop.money import Money, TooFine, digits_of
from portal.web.kit.request_context import shop

# what stands between the letters of a name in any language
NAME_MARKS = set(" ’ʼ`´")
# zero width, and written with: they part or join letters in Persian and in scripts of India
JOINERS = {"\u200c", "\u200d"}


class ReadField(Field):
    """One line parsed by `reader`; input that can't be parsed is shown as typed."""

    widget = TextInput()

    def __init__(
        self,
        label: Any = None,
        validators: Iterable[Any] = (),
        *,
        reader: Callable[[str], Any],
        writer: Callable[[Any], str] = str,
        **kwargs: Any,
    ) -> None:
        keys = {"autocomplete": "off", "maxlength": 40}
        kwargs["render_kw"] = keys | kwargs.pop("render_kw", {})
        super().__init__(label, list(validators), **kwargs)
        self.reader, self.writer = reader, writer

    def _value(self) -> str:
        if self.raw_data:
            return str(self.raw_data[0])
        return "" if self.data is None else self.writer(self.data)

    def process_formdata(self, valuelist: list[Any]) -> None:
        text = str(valuelist[0]).strip() if valuelist else ""
        self.data = None
        if text:
            self.data = self.reader(text)


class Reads:
    """Validate a text with a reader, and leave the input as it is."""

    def __init__(self, reader: Callable[[str], Any]) -> None:
        self.reader = reader

    def __call__(self, _form: Any, field: Field) -> None:
        if not field.data:
            return
        try:
            self.reader(str(field.data))
        except ValueError as problem:
            raise StopValidation(problem.args[0]) from None


def plain(text: Any) -> Any:
    """Return a text with normal line ends and without unprintable characters."""
    if not isinstance(text, str):
        return text
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(sign for sign in lines if sign in "\n\t" or ord(sign) >= 32).strip()


def minor_units(text: str) -> int:
    """Parse 12, 12.50 or £12,50 as minor units of the shop's currency."""
    currency = shop().currency
    found = re.fullmatch(r"[^0-9.,a-zA-Z]?\s*([0-9]{1,7}(?:[.,][0-9]{1,4})?)", text)
    if not found:
        raise ValueError(_like(currency))
    try:
        amount = Money.of(Decimal(found[1].replace(",", ".")), currency)
    except TooFine:
        raise ValueError(_like(currency)) from None
    if amount.minor > DEAREST:
        most = Money(DEAREST, currency).major
        raise ValueError(_l("Enter %(most)s or less.", most=f"{most:,.0f}"))
    return amount.minor


def _like(currency: str) -> Any:
    if not digits_of(currency):
        return _l("Enter a whole amount, like 1200.")
    return _l("Enter an amount like 12 or 12.50.")


def minor_text(amount: int) -> str:
    """Format minor units of the shop's currency as a plain decimal."""
    return Money(amount, shop().currency).plain


def person_name(text: str) -> str:
    """Return a name in any script, in normal form (NFC): letters, digits and punctuation.

    White space is collapsed. Invisible characters go, but the joiners that some scripts need stay.
    Emoji and mathematical signs are refused.
    """
    visible = "".join(one for one in text if one in JOINERS or unicodedata.category(one) != "Cf")
    tidy = re.sub(r"\s+", " ", unicodedata.normalize("NFC", visible)).strip()
    for sign in tidy:
        if sign not in NAME_MARKS | JOINERS and unicodedata.category(sign)[0] not in "LMNP":
            raise ValueError(
                _l(
                    "Remove “%(sign)s”. Letters of any language, digits and punctuation are fine.",
                    sign=sign if sign.isprintable() else "?",
                )
            )
    if not any(unicodedata.category(sign)[0] == "L" for sign in tidy):
        raise ValueError(_l("Enter a name with at least one letter."))
    return tidy


def mail_address(text: str) -> str:
    """Read an e-mail address and return its normal form."""
    try:
        found = validate_email(text, check_deliverability=False)
    except EmailNotValidError:
        raise ValueError(_l("Enter an e-mail address like name@example.com.")) from None
    return found.normalized


def telephone(text: str, country: str) -> str:
    """Parse a number of the shop's country, or any that begins with +, and return E.164."""
    # the library would read letters as the keys of a telephone
    if any(sign.isalpha() for sign in text):
        raise ValueError(_l("Use digits only: there is a letter in this number."))
    try:
        found = phonenumbers.parse(text, country)
    except phonenumbers.NumberParseException:
        found = None
    whole = phonenumbers.ValidationResult.IS_POSSIBLE
    # without its area code a number is possible too, but only for a neighbour
    if found is None or phonenumbers.is_possible_number_with_reason(found) != whole:
        raise ValueError(_l("Enter a phone number with its area code. From abroad, start with +."))
    return phonenumbers.format_number(found, phonenumbers.PhoneNumberFormat.E164)


def shop_telephone(text: str) -> str:
    """Return a phone number (E.164), read by the rules of the shop's country."""
    return telephone(text, shop().country)


def telephone_text(number: str, country: str) -> str:
    """Format an E.164 number by the habits of the shop's country."""
    try:
        found = phonenumbers.parse(number, country)
    except phonenumbers.NumberParseException:
        return number
    home = found.country_code == phonenumbers.country_code_for_region(country)
    form = phonenumbers.PhoneNumberFormat
    return phonenumbers.format_number(found, form.NATIONAL if home else form.INTERNATIONAL)
