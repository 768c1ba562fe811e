"""The example of a proxy, run as it stands: TLS, true addresses, limits, slow bodies kept away."""

import json
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest

from tests.cli.free_port import free_port
from tests.load.nginx import nginx

# the portal's place is taken by a server with one thread that tells what it was sent
ECHO = """
import json, sys
from wsgiref.simple_server import make_server

def app(environ, start):
    body = environ["wsgi.input"].read(int(environ.get("CONTENT_LENGTH") or 0))
    told = {k: v for k, v in environ.items() if k.startswith("HTTP_")} | {"body": len(body)}
    answer = json.dumps(told).encode()
    start("200 OK", [("Content-Length", str(len(answer)))])
    return [answer]

make_server("127.0.0.1", int(sys.argv[1]), app).serve_forever()
"""


@pytest.fixture
def proxy(tmp_path: Path) -> Iterator[tuple[str, ssl.SSLContext]]:
    for folder in (tmp_path, *tmp_path.parents[:2]):
        folder.chmod(0o755)  # nginx changes to a user of its own
    behind = free_port()
    echo = subprocess.Popen([sys.executable, "-c", ECHO, str(behind)], stderr=subprocess.DEVNULL)
    try:
        with nginx(tmp_path, behind) as (port, trusting):
            yield f"https://localhost:{port}", trusting
    finally:
        echo.terminate()
        echo.wait(30)


def test_the_example_of_a_proxy_holds(proxy) -> None:
    base, trusting = proxy
    forged = Request(f"{base}/", headers={"X-Forwarded-For": "192.0.2.66", "Host": "localhost"})
    with urlopen(forged, context=trusting) as answer:
        told = json.loads(answer.read())
    # an address that was made up goes no further
    assert told["HTTP_X_FORWARDED_FOR"] == "127.0.0.1"
    assert told["HTTP_X_FORWARDED_PROTO"] == "https"
    with pytest.raises(HTTPError) as refused:
        urlopen(Request(f"{base}/", data=b"x" * 68_000_000), context=trusting)
    assert refused.value.code == 413
    # who sends a byte and waits never reaches the one thread behind
    port = int(base.rpartition(":")[2])
    slow = []
    for _ in range(20):
        raw = socket.create_connection(("127.0.0.1", port), 30)
        one = trusting.wrap_socket(raw, server_hostname="localhost")
        one.sendall(b"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\nx")
        slow.append(one)
    with urlopen(Request(f"{base}/", data=b"abc"), context=trusting, timeout=30) as answer:
        assert json.loads(answer.read())["body"] == 3
    for one in slow:
        one.close()
