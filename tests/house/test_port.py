"""The portal never starts beside somebody who has its port: two would share it unseen."""

import socket

import pytest

from portal.cli.running import must_be_free
from portal.settings import BadSetting
from tests.readers import english


def test_a_port_that_somebody_has_is_refused_and_a_free_one_is_not() -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        with pytest.raises(BadSetting) as refused:
            must_be_free("127.0.0.1", port)
        says = english(refused.value.sentence)
        assert f"127.0.0.1:{port}" in says
        assert "PORT=" in says
    must_be_free("127.0.0.1", port)
