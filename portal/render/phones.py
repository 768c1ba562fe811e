"""Telephone numbers as people read them out."""

from functools import lru_cache

from portal.render.reader import Reader


def phone(number: str, _reader: Reader) -> str:
    """Return a telephone number (E.164) in groups, with its country; other text as it is."""
    return _written(number, None)


def telephone(number: str, reader: Reader) -> str:
    """Return a telephone number as people of the shop's country write it."""
    return _written(number, reader.country)


@lru_cache(maxsize=256)
def _written(number: str, country: str | None) -> str:
    import phonenumbers  # noqa: PLC0415  # its tables are heavy, and the command line shows none

    form = phonenumbers.PhoneNumberFormat
    try:
        found = phonenumbers.parse(number, country)
    except phonenumbers.NumberParseException:
        return number
    home = country and found.country_code == phonenumbers.country_code_for_region(country)
    return str(phonenumbers.format_number(found, form.NATIONAL if home else form.INTERNATIONAL))
