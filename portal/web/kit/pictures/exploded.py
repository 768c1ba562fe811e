"""What comes off."""

from collections.abc import Mapping, Sequence

from markupsafe import Markup

from portal.craft.answers import Removal
from portal.craft.parts import Item, Remover
from portal.web.kit.pictures.svg import picture


def exploded(removals: Sequence[Removal], removers: Mapping[Item, Remover] = {}) -> Markup:
    """Draw the wheel taken apart."""
    return picture("", box=(640, 300), size=(640, 300), title="", name="exploded")
