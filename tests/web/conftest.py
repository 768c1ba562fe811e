"""The house behind the pages, and somebody at the counter."""

import pytest

from portal.orders.kernel.unit import UnitOfWork
from tests.cast import COUNTER, sign_in
from tests.page import checked_client
from tests.web.hand import Hand


@pytest.fixture
def unit(app) -> UnitOfWork:
    """The unit of the running portal, to set a scene or to read the record."""
    return app.extensions["unit"]


@pytest.fixture
def hand(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), COUNTER))
