"""Helpers to write SVG: short numbers, unique ids, text equivalents."""

from collections.abc import Iterable
from itertools import count
from string import ascii_uppercase, digits

from markupsafe import Markup, escape

from portal.craft.messages import Message
from portal.web.kit.i18n.languages import render

_ids = count(1)
SIGNS = digits + ascii_uppercase


def fresh_id() -> str:
    """Return an id that none of the last 40,000 pictures of this process had; it stays short."""
    number, written = next(_ids) % len(SIGNS) ** 3, ""
    while number or not written:
        number, sign = divmod(number, len(SIGNS))
        written = SIGNS[sign] + written
    # no small letters: one after it, for a part of the picture, never makes another one's id
    return f"p{written}"


def num(value: float) -> str:
    """Format a number with at most one decimal, as short as possible."""
    text = f"{value:.1f}"
    if text.endswith(".0"):
        text = text[:-2]
    if text.startswith(("0.", "-0.")):
        text = text.replace("0.", ".", 1)
    return "0" if text in ("-0", "") else text


def xy(*values: float) -> str:
    """Format a row of coordinates."""
    return " ".join(num(v) for v in values)


def picture(
    body: str,
    *,
    box: tuple[float, float],
    size: tuple[float, float],
    title: Message | str = "",
    says: Message | str = "",
    name: str = "picture",
) -> Markup:
    """Wrap `body`, trusted markup, as an SVG with its text equivalent.

    Without a title it stands beside words that say the same, and screen readers skip it.
    """
    mark = fresh_id()
    described = f' aria-describedby="{mark}d"' if says else ""
    named = f'role="img" aria-labelledby="{mark}"{described}>' if title else 'aria-hidden="true">'
    return Markup(  # noqa: S704  # the body is drawn here; every text that comes in is escaped
        f'<svg class="{name}" viewBox="0 0 {xy(*box)}" width="{num(size[0])}" '
        f'height="{num(size[1])}" {named}'
        + (f'<title id="{mark}">{escape(render(title))}</title>' if title else "")
        + (f'<desc id="{mark}d">{escape(render(says))}</desc>' if says else "")
        + body
        + "</svg>"
    )


def group(parts: Iterable[str], **attributes: str) -> str:
    """Wrap shapes in a `<g>`; an underscore in a keyword stands for a hyphen."""
    written = "".join(f' {k.rstrip("_").replace("_", "-")}="{v}"' for k, v in attributes.items())
    return f"<g{written}>{''.join(parts)}</g>"
