"""What a powder is called in the reader's language."""

from portal.craft.parts import Powder


def colour_name(powder: Powder) -> str:
    """Return the name of a powder: the official one of its RAL number, else the shop's own."""
    return powder.name
