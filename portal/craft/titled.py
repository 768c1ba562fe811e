"""Words of the trade: enum members with a stored value and a shown title."""

from enum import StrEnum


class Titled(StrEnum):
    """A word of the trade: its value is stored, its title is shown."""

    title: str  # type: ignore[assignment]  # hides a method of str that no word of the trade needs

    def __new__(cls, value: str, title: str = "") -> "Titled":
        """Create the member with its title."""
        member = str.__new__(cls, value)
        member._value_ = value
        member.title = title or value
        return member
