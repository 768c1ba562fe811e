"""The example of a proxy, run as it stands: TLS, true addresses, limits, slow bodies kept away."""

import json
import shutil
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import Request, urlopen

import pytest

from tests.cli.free_port import free_port
from tests.conftest import HOUSE
from tests.notices.posting import certificate

EXAMPLE = HOUSE / "portal" / "deploy" / "nginx.conf"
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
MAIN = """
daemon off; pid {folder}/nginx.pid; error_log stderr crit;
events {{ worker_connections 1024; }}
http {{ access_log off; client_body_temp_path {folder}/body; proxy_temp_path {folder}/proxy;
fastcgi_temp_path {folder}/f; uwsgi_temp_path {folder}/u; scgi_temp_path {folder}/s;
{server} }}
"""


@pytest.fixture
def proxy(tmp_path: Path) -> Iterator[tuple[str, ssl.SSLContext]]:
    found = shutil.which("nginx") or "/usr/sbin/nginx"
    assert Path(found).exists(), "make test installs the package nginx-light"
    _, trusting = certificate(tmp_path)
    plain, secure, behind = (free_port() for _ in range(3))
    server = EXAMPLE.read_text("utf-8")
    for was, now in (
        ("127.0.0.1:8000", f"127.0.0.1:{behind}"),
        ("/etc/ssl/portal.crt", f"{tmp_path}/cert.pem"),
        ("/etc/ssl/portal.key", f"{tmp_path}/key.pem"),
        ("listen [::]:443 ssl http2;", ""),
        ("listen [::]:80;", ""),
        ("listen 443", f"listen 127.0.0.1:{secure}"),
        ("listen 80;", f"listen 127.0.0.1:{plain};"),
        ("server_name portal.example.com", "server_name localhost"),
    ):
        assert was in server, was
        server = server.replace(was, now)
    conf = tmp_path / "nginx.conf"
    conf.write_text(MAIN.format(folder=tmp_path, server=server), "utf-8")
    for folder in (tmp_path, *tmp_path.parents[:2]):
        folder.chmod(0o755)  # nginx changes to a user of its own
    echo = subprocess.Popen([sys.executable, "-c", ECHO, str(behind)], stderr=subprocess.DEVNULL)
    nginx = subprocess.Popen([found, "-c", str(conf), "-e", "stderr"])
    try:
        _wait_for(f"https://localhost:{secure}/", trusting)
        yield f"https://localhost:{secure}", trusting
    finally:
        nginx.terminate()
        echo.terminate()
        nginx.wait(30)
        echo.wait(30)


def _wait_for(url: str, context: ssl.SSLContext) -> None:
    for _ in range(100):
        with suppress(URLError, ConnectionError), urlopen(url, context=context) as answer:
            if answer.status == 200:
                return
        time.sleep(0.1)
    raise AssertionError(url)


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
