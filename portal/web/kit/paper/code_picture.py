"""QR symbols with their text as one PNG, to be saved on a phone."""

import io
from collections.abc import Sequence

from PIL import Image, ImageDraw, ImageFont

from portal.web.kit.paper.qr import QUIET, modules

WIDTH = 720  # px; a module becomes as wide as fits
TEXT = 56


def code_picture(codes: Sequence[tuple[str, str]]) -> bytes:
    """Return a PNG of symbols, one below the other: what each holds, and the text below it."""
    tiles = [_tile(text, said) for text, said in codes]
    whole = Image.new("1", (WIDTH, sum(one.height for one in tiles)), 1)
    top = 0
    for one in tiles:
        whole.paste(one, (0, top))
        top += one.height
    out = io.BytesIO()
    whole.save(out, "PNG", optimize=True)
    return out.getvalue()


def _tile(text: str, said: str) -> Image.Image:
    rows = modules(text)
    side = WIDTH // (len(rows) + 2 * QUIET)
    edge = (WIDTH - side * len(rows)) // 2
    tile = Image.new("1", (WIDTH, edge + side * len(rows) + QUIET * side + 2 * TEXT), 1)
    draw = ImageDraw.Draw(tile)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                left, top = edge + x * side, edge + y * side
                draw.rectangle((left, top, left + side - 1, top + side - 1), fill=0)
    below = edge + side * len(rows) + QUIET * side
    font = ImageFont.load_default(size=TEXT)
    draw.text((WIDTH / 2, below), said, fill=0, font=font, anchor="ma")
    return tile
