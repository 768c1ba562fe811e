"""Registers the drawing functions that `macros/pictures.html` calls."""

from flask import Flask

from portal.web.pictures import exploded, parts, swatches, wheel


def init_app(app: Flask) -> None:
    app.jinja_env.globals.update(
        draw_wheel=wheel.wheel,
        draw_exploded=exploded.exploded,
        draw_part=parts.part,
        draw_swatch=swatches.swatch,
    )
