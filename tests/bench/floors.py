"""The floors that are measured: sixty jobs of five parts, the same among years of closed ones, and
three hundred; on SQLite, and copied to PostgreSQL as `move` does.
"""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from portal.cli.moving import move
from portal.orders.access import passwords
from portal.orders.planning.forecasting import reforecast_all
from portal.store.tables import Tag
from portal.web.kit.http import clock
from tests.bench import fill
from tests.cast import OFFICE, add_staff, is_there
from tests.conftest import named, on_server, settings_for, unit_at
from tests.postgres import cluster
from tests.sixty import a_floor_of_sixty

PARTS, CLOSED = 5, 100_000
FIRST_TAG = 2001  # beyond what the demo and the shop have


@dataclass(frozen=True)
class Floors:
    """Files of embedded databases."""

    folder: Path
    sixty: Path
    of_many: Path
    crowd: Path

    def copy(self, file: Path) -> str:
        """Return the URL of a copy, so that a measurement leaves the others what it found."""
        made = self.folder / f"copy-{len(list(self.folder.iterdir()))}.sqlite3"
        return f"sqlite:///{shutil.copy(file, made)}"


def floors(model: Path, folder: Path) -> Floors:
    """Make the floors from the demo's database."""
    passwords._hasher = passwords.PasswordHasher(time_cost=1, memory_cost=64)
    sixty = Path(shutil.copy(model, folder / "sixty.sqlite3"))
    _fill(f"sqlite:///{sixty}", 1)
    crowd = Path(shutil.copy(model, folder / "three_hundred.sqlite3"))
    _fill(f"sqlite:///{crowd}", 5)
    of_many = Path(shutil.copy(sixty, folder / "sixty_of_many.sqlite3"))
    fill.fill(of_many, CLOSED)
    return Floors(folder, sixty, of_many, crowd)


@contextmanager
def on_postgres(here: Floors) -> Iterator[dict[str, str]]:
    """Yield the URLs of the floors of sixty and of three hundred on a server of their own."""
    with cluster() as server:
        urls = {}
        for name, file in {"sixty": here.sixty, "crowd": here.crowd}.items():
            on_server(server, f"CREATE DATABASE {name}")
            urls[name] = named(server, name)
            move(settings_for(urls[name], here.folder), file)
        yield urls


def _fill(url: str, times: int) -> None:
    """Add `times` sixty jobs of five parts, and store the forecast as the worker does."""
    unit = unit_at(url, clock)
    tags = range(FIRST_TAG, FIRST_TAG + times * 60 * (PARTS + 1))
    unit.write(lambda session: session.add_all(Tag(number=str(n)) for n in tags))
    if not is_there(unit, OFFICE):
        add_staff(unit)
    for n in range(times):
        first = FIRST_TAG + n * 60 * (PARTS + 1)
        a_floor_of_sixty(unit, n + 1, parts=PARTS, first_tag=first)
    reforecast_all(unit)
    unit.close()
