"""A port that nobody has, for a server under test."""

import socket


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as found:
        return int(found.getsockname()[1])
