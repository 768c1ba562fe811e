"""A coated sample plate."""

from markupsafe import Markup

from portal.craft.parts import Powder
from portal.web.kit.pictures.svg import picture


def swatch(powder: Powder, size: float = 64) -> Markup:
    """Draw a sample plate in the powder's colour."""
    return picture(
        '<rect x="4" y="4" width="56" height="56"/>',
        box=(64, 64), size=(size, size), title=powder.name, name="swatch",
    )  # fmt: skip
