"""QR symbols: the smallest version that holds the text, read by two independent readers."""

import re

import cv2
import numpy as np
import pytest
import zxingcpp

from portal.shop.codes import printed_link, status_link
from portal.web.kit.paper.qr import QUIET, modules, path, svg

TOKEN = "ABCDEFGHIJKLMNOPQRSTUVWXY2"


def picture(text, scale=8):
    """Draw the symbol's own SVG path, by hand, with its quiet zone."""
    rows = modules(text)
    side = len(rows) + 2 * QUIET
    out = np.full((side * scale, side * scale), 255, dtype=np.uint8)
    drawn = path(rows)
    for run in re.finditer(r"M(\d+) (\d+)\.5((?:m?-?\d* ?0?h\d+)+)", drawn):
        x, y = int(run[1]), int(run[2])
        for step in re.finditer(r"(?:m(\d+) 0)?h(\d+)", run[3]):
            x += int(step[1] or 0)
            out[y * scale : (y + 1) * scale, x * scale : (x + int(step[2])) * scale] = 0
            x += int(step[2])
    return out


@pytest.mark.parametrize(
    ("text", "side"),
    [
        # ISO/IEC 18004 as on qrcode.com/en/howto/code.html: 50 alphanumeric characters at M need
        # version 3, because version 2-M holds 38; sides are 21 + 4 (v − 1)
        ("A" * 38, 25),
        ("A" * 39, 29),
        ("A" * 50, 29),
        ("A" * 61, 29),
        ("A" * 62, 33),
        # in bytes version 3-M holds 42
        ("a" * 42, 29),
        ("a" * 43, 33),
        # a part's tag: version 1
        ("7K3MP2XA-1", 21),
        ("7K3MP2XA-12", 21),
    ],
)
def test_the_symbol_is_no_larger_than_the_standard_asks(text, side):
    assert len(modules(text)) == side


@pytest.mark.parametrize(
    "base", ["http://127.0.0.1:8000", "https://portal.example.com", "https://coating.example.org/"]
)
def test_a_status_link_fits_version_3(base):
    assert len(modules(printed_link(base, TOKEN))) == 29


def test_a_link_is_upper_case_unless_its_base_has_a_path():
    assert (
        printed_link("https://portal.example.com", TOKEN) == f"HTTPS://PORTAL.EXAMPLE.COM/J/{TOKEN}"
    )
    with_path = "https://example.com/portal"
    assert printed_link(with_path, TOKEN) == status_link(with_path, TOKEN)


@pytest.mark.parametrize(
    "text",
    [printed_link("http://127.0.0.1:8000", TOKEN), "7K3MP2XA-1", "https://example.com/a?b=ü"],
)
def test_two_readers_read_what_was_written(text):
    drawn = picture(text)
    assert zxingcpp.read_barcode(drawn).text == text
    assert cv2.QRCodeDetector().detectAndDecode(drawn)[0] == text


def test_the_strongest_correction_that_fits_is_used():
    # 10 characters fit version 1 at H (30 % recovery)
    assert zxingcpp.read_barcode(picture("7K3MP2XA-1")).ec_level == "H"


def test_the_svg_has_its_quiet_zone_its_size_and_its_words():
    drawn = svg("7K3MP2XA-1", "QR code <of> part 1", 0.9)
    assert 'viewBox="0 0 29 29"' in drawn
    assert 'width="26.10mm"' in drawn
    assert "&lt;of&gt;" in drawn
    assert "style" not in drawn
    first = re.search(r"M(\d+) (\d+)\.5", drawn)
    assert int(first[1]) >= QUIET
    assert int(first[2]) >= QUIET


def test_a_links_symbol_is_under_two_kilobytes():
    assert len(svg(printed_link("https://portal.example.com", TOKEN), "QR code")) < 2000
