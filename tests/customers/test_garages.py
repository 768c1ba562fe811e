"""Garages whom nobody had in mind book what their page told them."""

import pytest

from tests.customers.garages import visit


@pytest.mark.parametrize("seed", range(1, 5))
def test_a_garage_comes_from_paste_to_booking(app, seed: int) -> None:
    assert visit(app, app.extensions["unit"], seed)
