"""Static files: joined, minified and compressed once at start, under the hash of them all.

One hash for the whole tree is part of the path, so relative imports and CSS `url()` inherit it and
everything may be cached for a year. No request reads from disk.
"""

import gzip
import hashlib
import mimetypes
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import brotli
from flask import Flask, Response, abort, g, request
from lightningcss import process_stylesheet

LAYERS = ("0-layers.css", "tokens.css", "base.css")
# one response a group of readers, so that customers never load what only staff need
GROUPS = {
    "site.css": ("pieces/*.css", "pages/site/*.css", "print.css"),
    "order.css": ("pieces/*.css", "pages/order/*.css", "print.css"),
    "trade.css": ("pieces/*.css", "pages/trade/*.css", "print.css"),
    "staff.css": ("pieces/*.css", "staff/*.css", "pages/staff/*.css", "print.css"),
    "paper.css": ("paper/*.css",),
}
# the customer's scripts travel as one file too; each is a block of its own, nothing is shared
SCRIPTS = {"site.js": ("once.js", "alone.js", "live_price.js", "later.js")}
TEXT = {".css", ".js", ".svg", ".txt", ".json", ".mjs"}
WORTH_IT = 200
FOREVER = "public, max-age=31536000, immutable"


@dataclass(frozen=True, slots=True)
class Asset:
    """A file as sent: plain, and compressed where that is shorter."""

    body: bytes
    mimetype: str
    packed: dict[str, bytes]


@dataclass(frozen=True, slots=True)
class Assets:
    """Everything under `/static/<hash>/`."""

    mark: str
    files: dict[str, Asset]

    def url(self, name: str) -> str:
        """Return the address of a file; raise `LookupError` where there is none."""
        if name not in self.files:
            msg = f"there is no static file {name}"
            raise LookupError(msg)
        return f"/static/{self.mark}/{name}"


@lru_cache(maxsize=16)
def minify(css: str) -> str:
    """Return `css` without comments and white space, with the same meaning.

    Raise `ValueError` where it can't be parsed.
    """
    return process_stylesheet(css, minify=True)


def load(folder: Path) -> Assets:
    """Read and compress the tree below `folder`."""
    files = dict(_plain(folder)) | dict(_joined(folder / "css")) | dict(_scripts(folder / "js"))
    digest = hashlib.sha256()
    for name in sorted(files):
        digest.update(name.encode() + b"\0" + files[name] + b"\0")
    return Assets(
        mark=digest.hexdigest()[:12],
        files={name: _asset(name, body) for name, body in files.items()},
    )


def init_app(app: Flask, assets: Assets) -> None:
    """Serve the files; templates name them with `asset('site.css')`."""
    app.extensions["assets"] = assets
    app.jinja_env.globals["asset"] = assets.url
    app.jinja_env.globals["asset_mark"] = lambda: assets.mark

    @app.get("/static/<mark>/<path:name>")
    def static_file(mark: str, name: str) -> Response:
        found = assets.files.get(name)
        if mark != assets.mark or found is None:
            abort(404)
        return answer(found)

    app.view_functions["static"] = static_file


def answer(found: Asset, keep: str = FOREVER) -> Response:
    """Return the best encoding of a file that the browser accepts."""
    g.is_asset = True
    body, coding = found.body, ""
    for name in ("br", "gzip"):
        if name in found.packed and request.accept_encodings[name] > 0:
            body, coding = found.packed[name], name
            break
    response = Response(body, mimetype=found.mimetype)
    response.headers["Cache-Control"] = keep
    response.headers["Vary"] = "Accept-Encoding"
    if coding:
        response.headers["Content-Encoding"] = coding
    return response


def _plain(folder: Path) -> Iterator[tuple[str, bytes]]:
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path.suffix != ".css":
            yield path.relative_to(folder).as_posix(), path.read_bytes()


def _joined(folder: Path) -> Iterator[tuple[str, bytes]]:
    for group, patterns in GROUPS.items():
        head = [folder / name for name in LAYERS] if group != "paper.css" else []
        paths = head + [p for pattern in patterns for p in sorted(folder.glob(pattern))]
        text = "\n".join(p.read_text(encoding="utf-8") for p in paths if p.exists())
        yield group, minify(text).encode()


def _scripts(folder: Path) -> Iterator[tuple[str, bytes]]:
    for group, names in SCRIPTS.items():
        paths = [folder / name for name in names]
        yield group, b"\n".join(p.read_bytes() for p in paths if p.exists())


# packing as small as it goes takes a second: a process that makes several apps packs once
@lru_cache(maxsize=128)
def _asset(name: str, body: bytes) -> Asset:
    mimetype = mimetypes.guess_type(name)[0] or "application/octet-stream"
    if name.endswith((".js", ".mjs")):
        mimetype = "text/javascript"
    packed: dict[str, bytes] = {}
    if Path(name).suffix in TEXT and len(body) > WORTH_IT:
        packed = {
            "br": brotli.compress(body, quality=11),
            "gzip": gzip.compress(body, 9, mtime=0),
        }
    return Asset(body, mimetype, packed)
