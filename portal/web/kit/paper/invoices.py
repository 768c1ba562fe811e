"""A receipt, invoice or credit note as a page and as a PDF; a firm's carries its XML inside."""

from dataclasses import replace
from importlib import resources
from typing import Any

from flask import Response, current_app, render_template

from portal.orders.kernel.invoice_paper import InvoicePaper
from portal.shop.invoicing.norm import structured
from portal.web.kit.i18n import languages
from portal.web.kit.paper import qr
from portal.web.kit.paper.printing import paper_asked

XML_NAME = "factur-x.xml"
NO_LINKS: dict[str, Any] = {"ways": [], "back": "", "back_label": ""}


def invoice_page(paper: InvoicePaper, links: dict[str, Any]) -> str:
    """Return a document as a page, in the language in which it was issued."""
    languages.use_language(paper.document.language)
    return render_template("paper/invoice.html", paper=paper, links=links, qr=qr.svg)


def invoice_pdf(paper: InvoicePaper, *, copy: bool = False) -> Response:
    """Return a document as a PDF: of a firm as PDF/A-3 with the structured invoice in it."""
    from portal.web.kit.paper import pdf  # noqa: PLC0415  # heavy, and only a PDF pays for it

    shown = replace(paper, copy=copy)
    page = invoice_page(shown, NO_LINKS)
    enclosure = None
    if paper.has_norm:
        enclosure = pdf.Enclosure(
            name=XML_NAME,
            body=invoice_xml(paper),
            description=f"{paper.document.number} (EN 16931)",
            facts=_facts(),
        )
    body = pdf.pdf_of(current_app, [page], paper_asked().value, enclosure)
    answer = Response(body, mimetype="application/pdf")
    name = f"{paper.file_name}.pdf"
    answer.headers["Content-Disposition"] = f'inline; filename="{name}"'
    return answer


def invoice_xml(paper: InvoicePaper) -> bytes:
    """Return the structured invoice, in the language in which it was issued."""
    languages.use_language(paper.document.language)
    return structured(paper.document, paper.buyer, languages.render)


def _facts() -> bytes:
    """Return what is said in the PDF of the file inside, as the library that writes it has it."""
    folder = resources.files("facturx").joinpath("xmp")
    text = folder.joinpath("Factur-X_extension_schema.xmp").read_text(encoding="utf-8")
    inside = text[text.index(">", text.index("<rdf:RDF")) + 1 : text.index("</rdf:RDF>")]
    return inside.replace(">BASIC<", ">EN 16931<").encode()
