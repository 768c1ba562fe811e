"""What each customer page costs: bytes on the wire, and SQL statements."""

import http.client
import re
import urllib.parse
import urllib.request
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from tests.load.browser import Browser, Visitor


def real_draft(url: str) -> str:
    """Walk through an order as a customer does up to its day, and return its token."""
    walker = Visitor(Browser([urllib.parse.urlsplit(url).port]))
    return walker.walk_to("day").token


def _fetch(url: str, path: str, encoding: str) -> tuple[int, int]:
    """Return the status and the bytes of headers and body together."""
    host = urllib.parse.urlparse(url).netloc
    link = http.client.HTTPConnection(host, timeout=120)
    link.request("GET", path, headers={"Accept-Encoding": encoding, "Accept": "text/html"})
    answer = link.getresponse()
    head = sum(len(k) + len(v) + 4 for k, v in answer.getheaders()) + 19
    body = answer.read()
    link.close()
    return answer.status, head + len(body)


def bytes_on_the_wire(url: str, draft: str, token: str) -> dict[str, dict[str, int]]:
    """Return, for each page a customer sees first, its plain size and its size on the wire."""
    sizes = {}
    paths = {"start": "/", "parts": f"/o/{draft}/parts", "status": f"/J/{token}"}
    paths |= {"slip": f"/J/{token}/slip", "why-powder": "/why-powder"}
    for name, path in paths.items():
        status, wire = _fetch(url, path, "gzip, br")
        assert status == 200, f"{path} answered {status}"
        sizes[name] = {"wire": wire, "plain": _fetch(url, path, "identity")[1]}
    page = urllib.request.urlopen(url + "/").read().decode()
    for css in re.findall(r'href="([^"]+\.css)"', page):
        sizes["css"] = {"wire": _fetch(url, css, "gzip, br")[1]}
    return sizes


def statements_per_page(database: Path, data: Path) -> dict[str, int]:
    """Count the SQL statements of one warm request to each page, inside this process."""
    from portal.orders.intake import drafts
    from portal.settings import Settings
    from portal.web.app import create_app

    app = create_app(
        Settings(
            database_url=f"sqlite:///{database}",
            base_url="http://127.0.0.1:8000",
            secret_key="for this measurement",
            data_dir=data,
        )
    )
    seen: list[str] = []

    def count(_c: Any, _k: Any, statement: str, *_more: Any) -> None:
        if not statement.startswith(("PRAGMA", "BEGIN")):
            seen.append(statement)

    sa.event.listen(sa.Engine, "before_cursor_execute", count)
    client = app.test_client()
    with app.extensions["unit"].read() as session:
        token = session.execute(
            sa.text("SELECT token FROM job WHERE state = 'in_work' LIMIT 1")
        ).scalar()
    draft = drafts.begin(app.extensions["unit"])
    found = {}
    for name, path in {
        "start": "/", "parts": f"/o/{draft}/parts", "status": f"/J/{token}",
        "slip": f"/J/{token}/slip", "why-powder": "/why-powder",
    }.items():  # fmt: skip
        client.get(path)
        seen.clear()
        assert client.get(path).status_code == 200
        found[name] = len(seen)
    sa.event.remove(sa.Engine, "before_cursor_execute", count)
    return found
