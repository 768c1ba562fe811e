"""Turns a page of paper into a PDF/UA file. Importing this costs a third of a second, so only
`kit.paper` does it, once something is printed.
"""

import logging
from collections.abc import Iterable
from urllib.parse import urlsplit

from flask import Flask
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher, URLFetcherResponse

from portal.web.kit.assets import Assets

# it complains of every rule that is meant for screens
logging.getLogger("weasyprint").setLevel(logging.ERROR)

HERE = "https://paper.example/"


class _OwnFiles(URLFetcher):
    """Serves our own static files from memory, and nothing else from anywhere."""

    def __init__(self, assets: Assets) -> None:
        super().__init__(allowed_protocols=["https"], fail_on_errors=True)
        self.assets = assets

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:
        """Return a file of `/static/<mark>/`; anything else is refused."""
        prefix = f"{HERE}static/{self.assets.mark}/"
        found = self.assets.files.get(urlsplit(url).path.removeprefix(urlsplit(prefix).path))
        if not url.startswith(prefix) or found is None:
            msg = f"paper asks for {url}"
            raise ValueError(msg)
        return URLFetcherResponse(url, found.body, {"Content-Type": found.mimetype})


def pdf_of(app: Flask, pages: Iterable[str], size: str) -> bytes:
    """Return the first of `pages` (the same page, ever denser) that fits one sheet, as PDF.

    `size` is what CSS calls the paper: `A4`, `letter`, `62mm 100mm`.
    When none does, the last one is printed on as many sheets as it needs.
    """
    fonts = FontConfiguration()
    fetcher = _OwnFiles(app.extensions["assets"])
    sheet = CSS(string=f"@page {{ size: {size} }}", font_config=fonts)
    document = None
    for page in pages:
        document = HTML(string=page, base_url=HERE, url_fetcher=fetcher).render(
            stylesheets=[sheet], font_config=fonts, pdf_variant="pdf/ua-1"
        )
        if len(document.pages) == 1:
            break
    assert document is not None  # there is always a page
    return bytes(document.write_pdf(pdf_variant="pdf/ua-1"))
