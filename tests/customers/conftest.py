"""The portal that all customers of this process walk through."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.customers.house import House, house, staff_it


@pytest.fixture(scope="session")
def open_house(sqlite_model: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    folder = tmp_path_factory.mktemp("customers")
    model = Path(shutil.copy(sqlite_model, folder / "model.sqlite3"))
    staff_it(model)
    with house(model, folder) as opened:
        yield opened
