"""Whose address counts behind proxies: as many forwarded ones are believed as stand before us."""

from dataclasses import replace

import pytest
from flask import request

from tests.conftest import an_app

SENT = {"X-Forwarded-For": "198.51.100.1, 203.0.113.2, 203.0.113.3"}


@pytest.mark.parametrize(
    ("proxies", "address"), [(0, "127.0.0.1"), (1, "203.0.113.3"), (2, "203.0.113.2")]
)
def test_a_visitor_cannot_claim_an_address(settings, clock, proxies: int, address: str) -> None:
    with an_app(replace(settings, proxies=proxies), clock) as app:
        app.add_url_rule("/whoami", view_func=lambda: request.remote_addr or "")
        assert app.test_client().get("/whoami", headers=SENT).text == address
