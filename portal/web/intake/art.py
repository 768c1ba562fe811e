"""The small pictures beside the choices of the first page: one file each for kinds and faces.

Drawn into the page they would weigh more than all its words; as a file they are fetched once.
"""

import re
from collections.abc import Callable, Mapping

from flask import abort, make_response, url_for
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from portal.craft.parts import FaceStyle, PartKind, PartSet
from portal.web.pictures.cache import cached
from portal.web.pictures.parts import part
from portal.web.pictures.wheel import wheel

SIDE, DRAWN = 640, 100
_SIZED = re.compile(r'<svg [^>]*?(viewBox="[^"]*")[^>]*>')


def image(sheet: str, name: str, size: int) -> Markup:
    """Return one picture of a sheet as an `<img>` without a text equivalent."""
    src = url_for("intake.picture", sheet=sheet, _anchor=name)
    tag = '<img src="{}" alt="" width="{}" height="{}" loading="lazy">'
    return Markup(tag).format(src, size, size)  # noqa: S704  # the tag is ours, what goes in is escaped


def picture(sheet: str) -> ResponseReturnValue:
    """Return a sheet of pictures as an SVG file, each by its name after a #."""
    draw = _SHEETS.get(sheet)
    if draw is None:
        abort(404)
    answer = make_response(cached(f"sheet of {sheet}", lambda: _sheet(draw())))
    answer.headers["Content-Type"] = "image/svg+xml"
    answer.headers["Cache-Control"] = "public, max-age=86400"
    return answer


def _sheet(drawings: Mapping[str, Markup]) -> str:
    """Stack drawings in one SVG, each with a view of its own."""
    found = []
    for n, (name, drawn) in enumerate(drawings.items()):
        y = n * SIDE
        placed = rf'<svg \1 y="{y}" width="{SIDE}" height="{SIDE}">'
        found.append(f'<view id="{name}" viewBox="0 {y} {SIDE} {SIDE}"/>')
        found.append(_SIZED.sub(placed, str(drawn), count=1))
    box = f"0 0 {SIDE} {SIDE * len(drawings)}"
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}">{"".join(found)}</svg>'


def _kinds() -> dict[str, Markup]:
    return {k.value: part(PartSet("A", k, 1), {}, DRAWN, named=False) for k in PartKind}


def _faces() -> dict[str, Markup]:
    rim = PartKind.WHEEL
    return {f.value: wheel(PartSet("A", rim, 1, face=f), {}, DRAWN, named=False) for f in FaceStyle}


_SHEETS: Mapping[str, Callable[[], dict[str, Markup]]] = {"kinds": _kinds, "faces": _faces}
