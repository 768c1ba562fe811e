"""The example of a proxy, started as it stands but for its ports, its names and its certificate."""

import shutil
import ssl
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

from tests.cli.free_port import free_port
from tests.conftest import HOUSE
from tests.notices.posting import certificate

EXAMPLE = HOUSE / "portal" / "deploy" / "nginx.conf"
MAIN = """
daemon off; pid {folder}/nginx.pid; error_log stderr crit;
events {{ worker_connections 1024; }}
http {{ access_log off; client_body_temp_path {folder}/body; proxy_temp_path {folder}/proxy;
fastcgi_temp_path {folder}/f; uwsgi_temp_path {folder}/u; scgi_temp_path {folder}/s;
{server} }}
"""


@contextmanager
def nginx(folder: Path, behind: int) -> Iterator[tuple[int, ssl.SSLContext]]:
    """Run the proxy before the port `behind`; yield its port, and who trusts its certificate.

    `folder` must be open to nginx's own user.
    """
    found = shutil.which("nginx") or "/usr/sbin/nginx"
    assert Path(found).exists(), "make test installs the package nginx-light"
    _, trusting = certificate(folder)
    plain, secure = free_port(), free_port()
    server = EXAMPLE.read_text("utf-8")
    for was, now in (
        ("127.0.0.1:8000", f"127.0.0.1:{behind}"),
        ("/etc/ssl/portal.crt", f"{folder}/cert.pem"),
        ("/etc/ssl/portal.key", f"{folder}/key.pem"),
        ("listen [::]:443 ssl http2;", ""),
        ("listen [::]:80;", ""),
        ("listen 443", f"listen 127.0.0.1:{secure}"),
        ("listen 80;", f"listen 127.0.0.1:{plain};"),
        ("server_name portal.example.com", "server_name localhost"),
    ):
        assert was in server, was
        server = server.replace(was, now)
    conf = folder / "nginx.conf"
    conf.write_text(MAIN.format(folder=folder, server=server), "utf-8")
    running = subprocess.Popen([found, "-c", str(conf), "-e", "stderr"])
    try:
        _wait_for(f"https://localhost:{secure}/", trusting)
        yield secure, trusting
    finally:
        running.terminate()
        running.wait(30)


def _wait_for(url: str, context: ssl.SSLContext) -> None:
    for _ in range(100):
        with suppress(URLError, ConnectionError), urlopen(url, context=context) as answer:
            if answer.status == 200:
                return
        time.sleep(0.1)
    raise AssertionError(url)
