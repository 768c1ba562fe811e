"""Paper as a response: every sheet is one template, shown as a page and printed as a PDF."""

from collections.abc import Iterable
from enum import StrEnum

from flask import Response, current_app, request


class Paper(StrEnum):
    """A paper size: `(width, height)` as CSS writes it."""

    A4 = "A4"
    LETTER = "letter"
    ROLL = "62mm 100mm"


def paper_asked() -> Paper:
    """Return the paper of the query, `?size=letter` or `roll`; else A4."""
    asked = request.args.get("size", "").upper()
    return Paper[asked] if asked in Paper.__members__ else Paper.A4


def as_pdf(pages: Iterable[str], name: str, paper: Paper | None = None) -> Response:
    """Return the first of `pages` (the same page, ever denser) that fits one sheet, as a PDF.

    A browser shows it, and saves it as `name`. Without `paper` the query chooses the paper.
    """
    from portal.web.kit.paper import pdf  # noqa: PLC0415  # heavy, and only a PDF pays for it

    body = pdf.pdf_of(current_app, pages, (paper or paper_asked()).value)
    answer = Response(body, mimetype="application/pdf")
    answer.headers["Content-Disposition"] = f'inline; filename="{name}"'
    return answer
