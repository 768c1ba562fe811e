"""A drop-off time as the value of a field: its start in UTC."""

from datetime import datetime


def name_of(start: datetime) -> str:
    """Return the form value of a window: its start in UTC."""
    return f"{start:%Y-%m-%dT%H:%MZ}"


def start_of(name: str) -> datetime | None:
    """Parse what `name_of` returned; None for any other text."""
    try:
        return datetime.strptime(name, "%Y-%m-%dT%H:%M%z")
    except ValueError:
        return None
