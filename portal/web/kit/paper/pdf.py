"""Turns paper pages into PDF/UA files. Importing this costs a third of a second, so only
`web.kit.paper.printing` does it, once something is printed.

Fonts and the style sheet are read once per process; what was printed is cached by its content.
"""

import hashlib
import itertools
import logging
import re
import threading
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any
from urllib.parse import urlsplit

from flask import Flask
from weasyprint import CSS, HTML, Attachment
from weasyprint.document import Document
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher, URLFetcherResponse

from portal.web.kit.http.assets import Assets

# it complains of every rule that is meant for screens
logging.getLogger("weasyprint").setLevel(logging.ERROR)

HERE = "https://paper.example/"
VARIANT = "pdf/ua-1"
# ISO 19005-3, level A: tagged for reading aloud like PDF/UA, and it may enclose a file
WITH_FILE = "pdf/a-3a"
# as `pictures.svg.fresh_id` makes them, in an attribute or in what refers to it
PICTURE_ID = re.compile(r'(?<=["#])p[0-9A-Z]{1,3}(?=[a-z]?[")])')
CACHE_BYTES = 16 * 1024 * 1024  # a slip has 40 kB


class _OwnFiles(URLFetcher):
    """Serve our own static files from memory, and nothing else."""

    def __init__(self, assets: Assets) -> None:
        super().__init__(allowed_protocols=["https"], fail_on_errors=True)
        self.assets = assets

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:
        """Return a file of `/static/<mark>/`; refuse anything else."""
        prefix = f"{HERE}static/{self.assets.mark}/"
        found = self.assets.files.get(urlsplit(url).path.removeprefix(urlsplit(prefix).path))
        if not url.startswith(prefix) or found is None:
            msg = f"paper asks for {url}"
            raise ValueError(msg)
        return URLFetcherResponse(url, found.body, {"Content-Type": found.mimetype})


@dataclass(frozen=True, slots=True)
class Enclosure:
    """A file inside a PDF that says the same as its pages; `facts` tells programs so, in RDF."""

    name: str
    body: bytes
    description: str
    facts: bytes


class PdfCache:
    """The PDFs printed last, up to a number of bytes; the one asked for longest ago goes first."""

    def __init__(self, most_bytes: int = CACHE_BYTES) -> None:
        self.most_bytes = most_bytes
        self._found: OrderedDict[str, bytes] = OrderedDict()
        self._bytes = 0

    def get(self, key: str) -> bytes | None:
        """Return what is kept under `key`, and keep it longer."""
        if key in self._found:
            self._found.move_to_end(key)
        return self._found.get(key)

    def put(self, key: str, pdf: bytes) -> None:
        """Keep `pdf`, and let the oldest go until all fits."""
        self._found[key] = pdf
        self._bytes += len(pdf)
        while self._bytes > self.most_bytes:
            _, gone = self._found.popitem(last=False)
            self._bytes -= len(gone)


class Press:
    """Prints the pages of one app, one document at a time: the fonts are shared."""

    def __init__(self, assets: Assets) -> None:
        self.assets = assets
        self.fetcher = _OwnFiles(assets)
        self.cache = PdfCache()
        self._one_at_a_time = threading.Lock()

    @cached_property
    def fonts(self) -> FontConfiguration:
        """The fonts of the system and of the paper's style sheet."""
        return FontConfiguration()

    @cached_property
    def sheet(self) -> CSS:
        """The style sheet of all paper, parsed."""
        url = HERE + self.assets.url("paper.css").lstrip("/")
        return CSS(url=url, url_fetcher=self.fetcher, font_config=self.fonts)

    def pdf_of(self, pages: Iterable[str], size: str, enclosure: Enclosure | None = None) -> bytes:
        """Return the first of `pages` (the same content, ever denser) that fits one sheet, as PDF.

        When none does, the last one is printed on as many sheets as it needs. Pages are kept by
        the first one's text: a page that says the same is not printed a second time.
        """
        pages = iter(pages)
        first = next(pages)
        enclosed = enclosure.body if enclosure else b""
        text = f"{size}\0{_by_content(first)}\0".encode() + enclosed
        key = hashlib.sha256(text).hexdigest()
        # whoever asks for the same page meanwhile waits for it, and does not print it too
        with self._one_at_a_time:
            pdf = self.cache.get(key)
            if pdf is None:
                pdf = self._print(itertools.chain([first], pages), size, enclosure)
                self.cache.put(key, pdf)
        return pdf

    def _print(self, pages: Iterable[str], size: str, enclosure: Enclosure | None) -> bytes:
        sheets = [_paper(size), self.sheet]
        variant = WITH_FILE if enclosure else VARIANT
        document = None
        for page in pages:
            html = HTML(string=page, base_url=HERE, url_fetcher=self.fetcher)
            _drop_linked_sheets(html)
            document = html.render(stylesheets=sheets, font_config=self.fonts, pdf_variant=variant)
            if len(document.pages) == 1:
                break
        assert document is not None  # there is always a page
        if enclosure is None:
            return bytes(document.write_pdf(pdf_variant=variant))
        return _written_with(document, enclosure)


def _written_with(document: Document, enclosure: Enclosure) -> bytes:
    """Write a document with a file inside, and what is said of the file in its metadata."""
    metadata = document.metadata
    written = metadata.generate_rdf_metadata
    end = b"</rdf:RDF>"
    # one RDF block holds it all: a second one would not be read
    metadata.generate_rdf_metadata = lambda *about: written(*about).replace(
        end, enclosure.facts + end
    )
    file = Attachment(
        string=enclosure.body,
        name=enclosure.name,
        description=enclosure.description,
        relationship="Alternative",
    )
    return bytes(document.write_pdf(finisher=_file_once, pdf_variant=WITH_FILE, attachments=[file]))


def _file_once(_document: Document, pdf: Any) -> None:
    """Name each file once: the library finds it by its name and by its object."""
    listed = pdf.catalog["AF"]
    listed[:] = dict.fromkeys(listed)


def _by_content(page: str) -> str:
    """Return `page` with the ids of its pictures numbered from one: each drawing has fresh ids."""
    found: dict[str, str] = {}
    return PICTURE_ID.sub(lambda one: found.setdefault(one[0], f"p-{len(found)}-"), page)


@lru_cache(maxsize=8)
def _paper(size: str) -> CSS:
    """Return the `@page` rule for what CSS calls the paper: `A4`, `letter`, `62mm 100mm`."""
    return CSS(string=f"@page {{ size: {size} }}")


def _drop_linked_sheets(html: HTML) -> None:
    """Remove the link to the style sheet, which is parsed already."""
    for head in html.etree_element.iter("head"):
        for link in [one for one in head.iter("link") if one.get("rel") == "stylesheet"]:
            head.remove(link)


def pdf_of(
    app: Flask, pages: Iterable[str], size: str, enclosure: Enclosure | None = None
) -> bytes:
    """Print with the press of `app`; it is set up when something is printed first."""
    if "press" not in app.extensions:
        app.extensions.setdefault("press", Press(app.extensions["assets"]))
    press: Press = app.extensions["press"]
    return press.pdf_of(pages, size, enclosure)
