"""The files that the house rules speak of."""

from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]


def files(*patterns: str) -> list[Path]:
    """Every file under the house that matches, but for vendored code and message catalogues."""
    found = [path for pattern in patterns for path in HOUSE.glob(pattern)]
    skip = ("/vendor/", "/locale/", "/node_modules/", "/migrations/versions/")
    return sorted(p for p in found if p.is_file() and not any(s in p.as_posix() for s in skip))


def name(path: Path) -> str:
    return path.relative_to(HOUSE).as_posix()
