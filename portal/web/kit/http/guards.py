"""Who may open staff pages. Anyone else is sent to sign in, and loses nothing."""

from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from typing import Any, TypeVar, cast
from urllib.parse import urlsplit

from flask import abort, jsonify, redirect, request, url_for
from flask_wtf.csrf import validate_csrf
from werkzeug.wrappers import Response
from wtforms import ValidationError

from portal.orders.access.held_forms import hold_form
from portal.orders.access.staff_sessions import Current
from portal.orders.kernel.audit_log import record_not_allowed
from portal.orders.kernel.errors import Busy
from portal.shop.roles import Role
from portal.web.kit.http.sessions import current_person
from portal.web.kit.request_context import unit

View = TypeVar("View", bound=Callable[..., Any])
LONGEST_WAY = 600


def require_role(needed: Role) -> Callable[[View], View]:
    """Allow only staff whose role covers `needed`."""

    def guard(view: View) -> View:
        @wraps(view)
        def guarded(*args: Any, **kwargs: Any) -> Any:
            who = current_person()
            if who is not None and who.may(needed):
                return view(*args, **kwargs)
            return _deny(who, needed)

        guarded.needs = needed  # type: ignore[attr-defined]  # read by the test of all routes
        return cast("View", guarded)

    return guard


def the_person() -> Current:
    """Return the person of a guarded page."""
    who = current_person()
    assert who is not None  # the guard stands before it
    return who


def safe_redirect(wanted: str) -> str:
    """Return `wanted` when it is a path of this portal, else ""."""
    if not wanted.startswith("/") or wanted.startswith("//") or len(wanted) > LONGEST_WAY:
        return ""
    # browsers read a backslash as a slash, and drop control characters
    if "\\" in wanted or any(ord(ch) < 0x20 or ord(ch) == 0x7F for ch in wanted):
        return ""
    parts = urlsplit(wanted)
    return "" if parts.scheme or parts.netloc else wanted


def _deny(who: Current | None, needed: Role) -> Any:
    if who is not None and not who.locked and not who.wants_code and not who.role.covers(needed):
        with suppress(Busy):  # who may not is refused, whether it can be recorded or not
            record_not_allowed(unit(), who.person_id, f"{request.method} {request.url_rule}")
        abort(403)
    if _is_script():
        answer = jsonify(sign_in=url_for("door.sign_in"))
        answer.status_code = 401
        return answer
    way = _way_back()
    if who is None or who.wants_code:
        return _to("door.sign_in", way)
    if who.locked:
        return _to("door.locked", way)
    # opened by PIN, and the page wants the password
    return _to("door.sign_in", way, again="1")


def _to(endpoint: str, way: str, **more: Any) -> Response:
    return redirect(url_for(endpoint, next=way or None, **more), code=303)


def _is_script() -> bool:
    best = request.accept_mimetypes.best_match(["text/html", "application/json"])
    return request.is_json or best == "application/json"


def _way_back() -> str:
    """Return where to go after signing in; a form that was sent is kept until then."""
    if request.method in {"GET", "HEAD"}:
        return safe_redirect(request.full_path.removesuffix("?"))
    try:
        # only a form of ours is kept: a stranger's page must not have it sent for them
        validate_csrf(request.form.get("csrf_token"))
    except ValidationError:
        return ""
    fields = [(name, text) for name, text in request.form.items(multi=True)]
    return url_for("door.held", key=hold_form(unit(), request.full_path.removesuffix("?"), fields))
