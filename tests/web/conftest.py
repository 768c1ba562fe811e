"""The house behind the pages, and somebody at the counter."""

from pathlib import Path

import pytest

from portal.orders.kernel.unit import UnitOfWork
from tests.cast import COUNTER, sign_in
from tests.page import checked_client
from tests.web.hand import Hand
from tests.web.invented import write_catalogue


@pytest.fixture
def unit(app) -> UnitOfWork:
    """The unit of the running portal, to set a scene or to read the record."""
    return app.extensions["unit"]


@pytest.fixture
def hand(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), COUNTER))


@pytest.fixture(scope="session")
def brackets(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the invented language, whose sentences are drawn from the sources once."""
    return write_catalogue(tmp_path_factory.mktemp("invented"))


@pytest.fixture
def invented(brackets: Path, monkeypatch) -> None:
    monkeypatch.setattr("portal.render.catalogues.FOLDER", brackets)
