"""The three pictures that carry the portal, and the part drawings: data in, SVG out.

Nothing here knows a request, a clock or a database. No inline style, presentation attributes only,
so that a picture passes the strictest content policy and prints as it is shown.
"""

from flask import Flask

from portal.web.pictures import exploded, parts, swatches, wheel


def init_app(app: Flask) -> None:
    """Register the drawing functions that `macros/pictures.html` calls."""
    app.jinja_env.globals.update(
        draw_wheel=wheel.wheel,
        draw_exploded=exploded.exploded,
        draw_piece=exploded.one_piece,
        draw_part=parts.part,
        draw_swatch=swatches.swatch,
    )
