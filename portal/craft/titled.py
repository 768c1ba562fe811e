"""A word of the trade: what is stored, and what is shown."""

from enum import StrEnum


class Titled(StrEnum):
    """A word of the trade: its value is stored, its title is shown."""

    title: str  # type: ignore[assignment]  # hides a method of str that no word of the trade needs

    def __new__(cls, value: str, title: str = "") -> "Titled":
        """Bind the shown title to the stored value."""
        member = str.__new__(cls, value)
        member._value_ = value
        member.title = title or value
        return member
