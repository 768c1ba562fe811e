"""The wheel as ordered."""

from collections.abc import Mapping

from markupsafe import Markup

from portal.craft.parts import PartSet, Powder
from portal.web.kit.pictures.svg import picture


def wheel(part_set: PartSet, powders: Mapping[str, Powder], size: float = 320) -> Markup:
    """Draw one wheel of the set in its finish."""
    return picture(
        '<circle cx="320" cy="320" r="300"/>',
        box=(640, 640), size=(size, size), title=part_set.face.title, name="wheel",
    )  # fmt: skip
