"""The status link of a job, for letters and for QR symbols."""

from urllib.parse import urlsplit


def status_link(base_url: str, token: str) -> str:
    """Return the link for people: `https://host/J/TOKEN`."""
    return f"{base_url.rstrip('/')}/J/{token}"


def printed_link(base_url: str, token: str) -> str:
    """Return the link for a QR symbol: upper case throughout, so that it takes fewer modules.

    Host names are the same in either case. A base address with a path of its own keeps its case,
    because paths are not.
    """
    link = status_link(base_url, token)
    return link if urlsplit(base_url).path.strip("/") else link.upper()
