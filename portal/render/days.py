"""Days and times in the shop's zone, as the reader's language writes them."""

from datetime import date, datetime
from functools import lru_cache

from babel.dates import format_date, format_skeleton

from portal.render.catalogues import locale_of
from portal.render.reader import Reader

# our English has the British order; any language not named here has the order of CLDR
DAY = {"en": "EEEE d MMMM", "de": "EEEE, d. MMMM", "es": "EEEE d 'de' MMMM"}
SHORT_DAY = {"en": "EEE d MMM", "de": "ccc d. LLL", "es": "EEE d MMM"}


def local(moment: date, reader: Reader) -> date:
    """Return a moment in the shop's zone; a plain date is returned as it is."""
    return moment.astimezone(reader.zone) if isinstance(moment, datetime) else moment


def day(moment: date, reader: Reader) -> str:
    """Return 'Tuesday 2 June'."""
    return _written(_day_of(moment, reader), reader.language, short=False)


def dated(moment: date, reader: Reader) -> str:
    """Return '2 June 2026', for papers that are kept."""
    locale = locale_of(reader.language)
    pattern = "d MMMM y" if locale.language == "en" else "long"
    return str(format_date(_day_of(moment, reader), pattern, locale=locale))


def month(moment: date, reader: Reader) -> str:
    """Return 'November 2026'."""
    day_ = _day_of(moment, reader)
    return str(format_skeleton("yMMMM", day_, locale=locale_of(reader.language)))


def short_day(moment: date, reader: Reader) -> str:
    """Return 'Tue 2 Jun', for lists that are read at a glance."""
    return _written(_day_of(moment, reader), reader.language, short=True)


def clock_time(moment: datetime, reader: Reader) -> str:
    """Return '14:05'."""
    return local(moment, reader).strftime("%H:%M")


def _day_of(moment: date, reader: Reader) -> date:
    here = local(moment, reader)
    return here.date() if isinstance(here, datetime) else here


@lru_cache(maxsize=2048)
def _written(day_: date, language: str, *, short: bool) -> str:
    locale = locale_of(language)
    pattern = (SHORT_DAY if short else DAY).get(locale.language)
    if pattern is None:
        known = locale.datetime_skeletons["MMMd" if short else "MMMMd"].pattern
        pattern = f"{'EEE' if short else 'EEEE'} {known}"
    return str(format_date(day_, pattern, locale=locale))
