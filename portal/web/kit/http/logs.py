"""Logging without capability links: tokens are masked before a line is written."""

import logging
import re

# the token of a draft, a status link or a photo: 26 characters of base 32 (shop.codes)
TOKEN = re.compile(r"(?<![A-Za-z0-9])[A-Za-z2-7]{26}(?![A-Za-z0-9])")
LOGGERS = ("portal", "werkzeug", "gunicorn.access", "gunicorn.error")


def masked(text: str) -> str:
    """Return `text` with every link token cut to its first four characters."""
    return TOKEN.sub(lambda found: found.group()[:4] + "…", text)


class MaskTokens(logging.Filter):
    """A filter that masks tokens in the formatted message."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Mask the record; never drop it."""
        record.msg = masked(record.getMessage())
        record.args = ()
        return True


def keep_quiet() -> None:
    """Install the mask on every logger that can see an address."""
    for name in LOGGERS:
        logger = logging.getLogger(name)
        if not any(isinstance(f, MaskTokens) for f in logger.filters):
            logger.addFilter(MaskTokens())
