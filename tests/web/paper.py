"""Paper for tests: a PDF as pictures, spoilt as paper is, and two readers of QR symbols."""

import cv2
import numpy as np
import pypdfium2 as pdfium
import zxingcpp

DPI = 150
MM = DPI / 25.4


def pages(pdf: bytes, dpi: int = DPI) -> list[np.ndarray]:
    """Rasterise every page of a PDF in grey."""
    document = pdfium.PdfDocument(pdf)
    shots = [document[n].render(scale=dpi / 72).to_numpy() for n in range(len(document))]
    document.close()
    return [cv2.cvtColor(shot[:, :, :3], cv2.COLOR_BGR2GRAY) for shot in shots]


def sizes_mm(pdf: bytes) -> list[tuple[float, float]]:
    """Return the paper size of every page."""
    document = pdfium.PdfDocument(pdf)
    sizes = [
        tuple(side / 72 * 25.4 for side in document[n].get_size()) for n in range(len(document))
    ]
    document.close()
    return sizes


def text_of(pdf: bytes) -> str:
    """Return all text of a PDF; a space is a space."""
    document = pdfium.PdfDocument(pdf)
    text = "\n".join(document[n].get_textpage().get_text_range() for n in range(len(document)))
    document.close()
    return text.replace("\u00a0", " ")


def read_all(page: np.ndarray) -> list[zxingcpp.Barcode]:
    """Every symbol that the first reader finds."""
    return list(zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode))


def box_of(code: zxingcpp.Barcode) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of a symbol in pixels, without its quiet zone."""
    at = code.position
    corners = (at.top_left, at.top_right, at.bottom_left, at.bottom_right)
    xs, ys = [c.x for c in corners], [c.y for c in corners]
    return (min(xs), min(ys), max(xs), max(ys))


def cut_out(page: np.ndarray, code: zxingcpp.Barcode, margin_mm: float = 12) -> np.ndarray:
    """The symbol with some paper around it, as somebody holds it before a camera."""
    left, top, right, bottom = box_of(code)
    edge = int(margin_mm * MM)
    return page[max(0, top - edge) : bottom + edge, max(0, left - edge) : right + edge].copy()


def blurred(picture: np.ndarray, sigma: float = 1.2) -> np.ndarray:
    return cv2.GaussianBlur(picture, (0, 0), sigma)


def turned(picture: np.ndarray, degrees: float = 15) -> np.ndarray:
    height, width = picture.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.0)
    return cv2.warpAffine(picture, turn, (width, height), borderValue=255)


def covered(picture: np.ndarray, code_box, share: float = 0.10) -> np.ndarray:
    """A thumb on the lower right corner, as one holds a slip: `share` of the symbol is gone.

    The other corners bear the finder patterns, without which no reader finds any symbol.
    """
    left, top, right, bottom = code_box
    side = int(((right - left) * (bottom - top) * share * 2) ** 0.5)
    corner = [(right, bottom - side), (right, bottom), (right - side, bottom)]
    return cv2.fillPoly(picture.copy(), [np.array(corner)], 128)


def faint(picture: np.ndarray, ink: int = 140) -> np.ndarray:
    """A printer low on toner: black is a mid grey, with speckles."""
    grey = ink + picture.astype(float) * (255 - ink) / 255
    noise = np.random.default_rng(7).normal(0, 12, picture.shape)
    return np.clip(grey + noise, 0, 255).astype(np.uint8)


def by_zxing(picture: np.ndarray) -> str:
    found = zxingcpp.read_barcode(picture)
    return found.text if found else ""


def by_opencv(picture: np.ndarray) -> str:
    return str(cv2.QRCodeDetector().detectAndDecode(picture)[0])


READERS = {"zxing-cpp": by_zxing, "OpenCV": by_opencv}
