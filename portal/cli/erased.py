"""Who was erased, kept beside the database, so that a restored copy can't bring them back."""

import os

from portal.settings import Settings

FILE = "erased.txt"  # one code of a job a line


def erased_before(settings: Settings) -> list[str]:
    """Return the codes whose customers were erased."""
    path = settings.data_dir / FILE
    return path.read_text(encoding="ascii").split() if path.exists() else []


def remember_erased(settings: Settings, code: str) -> None:
    """Add a code to the list, which only its owner can read."""
    settings.data_dir.mkdir(parents=True, exist_ok=True)
    flags = os.O_WRONLY | os.O_APPEND | os.O_CREAT
    with os.fdopen(os.open(settings.data_dir / FILE, flags, 0o600), "a", encoding="ascii") as out:
        out.write(code + "\n")
