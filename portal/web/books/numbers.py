"""Numbers in addresses and hidden fields."""


def number_of(text: str | None, otherwise: int = 0) -> int:
    """Return the whole number in `text`, or `otherwise` where there is none."""
    return int(text) if text and text.isascii() and text.isdecimal() else otherwise
