"""Reads printed paper: PDF pages as pictures, QR codes by a library that the portal lacks."""

import pypdfium2
import zxingcpp
from PIL.Image import Image


def pages_of(pdf: bytes, *, dpi: int = 150) -> list[Image]:
    """Rasterise every page."""
    document = pypdfium2.PdfDocument(pdf)
    return [page.render(scale=dpi / 72).to_pil().convert("L") for page in document]


def read_qr(picture: Image) -> str:
    """Return the text of the first QR code found, or an empty string."""
    found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
    return found[0].text if found else ""


def read_qr_of_pdf(pdf: bytes) -> str:
    """Return what the first QR code of a PDF says."""
    pages = pages_of(pdf)
    assert pages
    text = read_qr(pages[0])
    assert text, "no QR code could be read"
    return text
