"""The log: one JSON object a line, and nobody's data in it.

A line has time, level, logger and what is said; of a request also its id, method, route, status
and milliseconds. The route is the pattern (`/J/<token>`), never the address, which may be a key.
The id is the number that a person sees when something of ours went wrong.
"""

import json
import logging
import re
import sys
import traceback
from collections.abc import Mapping
from datetime import UTC, datetime
from time import perf_counter

from flask import Flask, Response, g, has_request_context, request

from portal.web.kit.request_context import fresh_token

# the token of a draft, a status link or a photo: 26 characters of base 32 (shop.codes), or what
# somebody typed for one, in groups of four
GROUPS = r"(?:[A-Za-z0-9]{4}(?:-| |%20)){6}[A-Za-z0-9]{2}"
TOKEN = re.compile(rf"(?<![A-Za-z0-9])(?:[A-Za-z0-9]{{26}}|{GROUPS})(?![A-Za-z0-9])")
EMAIL = re.compile(r"[^\s@'\"<>(),;]+@[^\s@'\"<>(),;]+")
# telephones and the like: six digits and more, however they are grouped
DIGITS = re.compile(r"(?<![\w.:-])\+?\d(?:[ /()-]?\d){5,}(?!\w)")
# what PostgreSQL adds to an error repeats the row
DETAIL = re.compile(r"^\s*(?:DETAIL|CONTEXT|HINT):.*$", re.MULTILINE)
LOGGERS = ("portal", "werkzeug", "gunicorn.access", "gunicorn.error", "sqlalchemy")
ACCESS = logging.getLogger("portal.access")
HIDDEN = "…"


def masked(text: str) -> str:
    """Return `text` with every link token cut to four characters, and no address or number."""
    text = TOKEN.sub(lambda found: found.group()[:4] + HIDDEN, text)
    return DIGITS.sub(HIDDEN, EMAIL.sub(HIDDEN, DETAIL.sub("", text)))


def trace_of(problem: BaseException) -> list[str]:
    """Return where an error came from, outermost first, and what it says, masked; causes first."""
    frames = traceback.extract_tb(problem.__traceback__)
    found = [f"{one.filename}:{one.lineno} {one.name}" for one in frames]
    found.append(masked(f"{type(problem).__name__}: {problem}"))
    cause = problem.__cause__ or (None if problem.__suppress_context__ else problem.__context__)
    return found if cause is None else [*trace_of(cause), *found]


class JsonLines(logging.Formatter):
    """Writes a record as one line of JSON."""

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, object] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "says": masked(record.getMessage()),
        }
        line |= getattr(record, "facts", None) or request_facts()
        if record.exc_info and record.exc_info[1]:
            line["trace"] = trace_of(record.exc_info[1])
        # as ASCII: a viewer may take other line ends than \n for one
        return json.dumps(line)


class MaskTokens(logging.Filter):
    """Masks the message of a record, for whoever formats it."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Mask the record; never drop it."""
        record.msg = masked(record.getMessage())
        record.args = ()
        return True


def keep_quiet() -> None:
    """Install the mask on every logger that can see an address."""
    for name in LOGGERS:
        logger = logging.getLogger(name)
        if not any(isinstance(f, MaskTokens) for f in logger.filters):
            logger.addFilter(MaskTokens())


def to_stderr(level: int = logging.INFO) -> None:
    """Write every line of this process as JSON to standard error."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines())
    logging.basicConfig(handlers=[handler], level=logging.WARNING, force=True)
    logging.getLogger("portal").setLevel(level)
    for name in ("gunicorn.error", "gunicorn.access"):
        for one in logging.getLogger(name).handlers:
            one.setFormatter(JsonLines())


def request_id() -> str:
    """Return the id of this request: eight letters, made once."""
    if "request_id" not in g:
        g.request_id = fresh_token()[:8]
    return str(g.request_id)


def request_facts() -> Mapping[str, object]:
    """Return id, method and route of the request, where there is one."""
    if not has_request_context():
        return {}
    route = str(request.url_rule or "")
    return {"request": request_id(), "method": request.method, "route": route}


def init_app(app: Flask) -> None:
    """Write a line for each answer but those for files."""
    keep_quiet()

    @app.before_request
    def begin() -> None:
        g.began = perf_counter()

    @app.after_request
    def end(response: Response) -> Response:
        if ACCESS.isEnabledFor(logging.INFO) and not g.get("is_asset"):
            took = round((perf_counter() - g.get("began", perf_counter())) * 1000, 1)
            facts = {**request_facts(), "status": response.status_code, "ms": took}
            ACCESS.info("answered", extra={"facts": facts})
        return response
