"""QR symbols as one SVG path: pure black on white, with the four-module quiet zone.

ISO/IEC 18004: the smallest version that holds the text at level M, then the strongest error
correction that still fits that version. Upper-case links go into alphanumeric mode.
"""

from functools import lru_cache

import qrcode
from markupsafe import Markup
from qrcode.util import ALPHA_NUM, MODE_8BIT_BYTE, MODE_ALPHA_NUM, QRData

QUIET = 4
M, STRONGER = qrcode.ERROR_CORRECT_M, (qrcode.ERROR_CORRECT_H, qrcode.ERROR_CORRECT_Q)

Modules = tuple[tuple[bool, ...], ...]


@lru_cache(maxsize=512)
def modules(text: str, *, exact: bool = False) -> Modules:
    """Return the dark modules of `text`, row by row, without the quiet zone.

    `exact` keeps level M, as the code for bank transfers wants it (EPC069-12).
    """
    code = _made(text, M, None)
    for level in () if exact else STRONGER:
        try:
            code = _made(text, level, code.version)
        except qrcode.exceptions.DataOverflowError:
            continue
        break
    return tuple(tuple(bool(dark) for dark in row) for row in code.modules)


def _made(text: str, level: int, version: int | None) -> "qrcode.QRCode[None]":
    code = qrcode.QRCode(version=version, error_correction=level, border=0)
    plain = text.isascii() and set(text.encode()) <= set(ALPHA_NUM)
    code.add_data(QRData(text, mode=MODE_ALPHA_NUM if plain else MODE_8BIT_BYTE), optimize=0)
    code.make(fit=version is None)
    return code


def path(rows: Modules, offset: int = QUIET) -> str:
    """Return the dark modules as one SVG path: one stroke a run, relative to the last."""
    steps = []
    for y, row in enumerate(rows):
        x, at = 0, None
        while x < len(row):
            start = x
            while x < len(row) and row[x]:
                x += 1
            if x > start:
                move = f"m{start - at} 0" if at is not None else f"M{start + offset} {y + offset}.5"
                steps.append(f"{move}h{x - start}")
                at = x
            x += 1
    return "".join(steps)


def svg(text: str, label: str, module_mm: float = 1.0, *, exact: bool = False) -> Markup:
    """Return the symbol as SVG, each module `module_mm` wide; `label` is its text equivalent."""
    rows = modules(text, exact=exact)
    side = len(rows) + 2 * QUIET
    size = f"{side * module_mm:.2f}mm"
    return Markup(
        '<svg class="qr" role="img" aria-label="{label}" viewBox="0 0 {side} {side}" '
        'width="{size}" height="{size}" shape-rendering="crispEdges">'
        '<path fill="#fff" d="M0 0h{side}v{side}H0z"/><path stroke="#000" d="{path}"/></svg>'
    ).format(label=label, side=side, size=size, path=path(rows))
