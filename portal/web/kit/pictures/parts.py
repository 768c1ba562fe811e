"""The other part kinds."""

from collections.abc import Mapping

from markupsafe import Markup

from portal.craft.parts import PartKind, PartSet, Powder
from portal.web.kit.pictures.svg import picture
from portal.web.kit.pictures.wheel import wheel


def part(part_set: PartSet, powders: Mapping[str, Powder], size: float = 320) -> Markup:
    """Draw one part of the set in its finish."""
    if part_set.kind is PartKind.WHEEL:
        return wheel(part_set, powders, size)
    return picture(
        '<rect x="100" y="200" width="440" height="240"/>',
        box=(640, 640), size=(size, size), title=part_set.kind.title, name="part",
    )  # fmt: skip
