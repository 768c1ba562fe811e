"""Liveness, readiness, robots.txt, the favicon, and the choice of language and units."""

import shutil
from collections.abc import Container
from pathlib import Path
from urllib.parse import quote

from flask import Blueprint, Response, current_app, redirect, request
from flask.typing import ResponseReturnValue
from sqlalchemy.exc import SQLAlchemyError

from portal.orders.access.shared_secret import is_shared_secret
from portal.orders.kernel.errors import Busy
from portal.orders.kernel.heartbeat import can_save, mail_worker
from portal.render.reader import Reader
from portal.render.text import render
from portal.web.kit.http import assets
from portal.web.kit.http.guards import safe_redirect
from portal.web.kit.http.security import in_the_open
from portal.web.kit.i18n import languages, measures
from portal.web.kit.request_context import cookie_name, settings, shop, unit

blueprint = Blueprint("house", __name__)

# an order says in its own headers whether it may be listed
ROBOTS = "User-agent: *\nDisallow: /r/\nDisallow: /J/\nDisallow: /counter/\nDisallow: /office/\n"
A_DAY = "public, max-age=86400"
A_YEAR = 31_536_000
LEAST_ROOM = 100_000_000  # bytes: a few days of photos


@blueprint.get("/healthz")
def alive() -> Response:
    """Return 200 as long as the process runs."""
    return Response("ok\n", mimetype="text/plain")


@blueprint.get("/readyz")
def ready() -> Response:
    """Return 200 and how things stand, when the database answers, saves and has room."""
    free = shutil.disk_usage(_data_dir()).free
    if free < LEAST_ROOM:
        return _not_ready(f"the disk is nearly full: {_size(free)} left")
    try:
        shop()
        facts = unit().store()
        if not unit().is_our_form(facts.form):
            return _not_ready("another version of the portal has changed the database's form")
        if not is_shared_secret(unit(), settings().secret_key):
            return _not_ready("another machine over this database has another PORTAL_SECRET")
        can_save(unit())
        mail = mail_worker(unit())
    except (SQLAlchemyError, Busy):
        current_app.logger.exception("not ready")
        return _not_ready("the database does not answer, or can't save")
    trouble = render(mail.trouble, Reader("en")) if mail.trouble else "at work"
    says = (
        f"ready\n{facts.database} {facts.version}, journal: {facts.journal}\n"
        f"mail worker: {'not running' if mail.silent else trouble}; "
        f"letters waiting: {mail.waiting}\nroom left: {_size(free)}\n"
    )
    return Response(says, mimetype="text/plain")


def _not_ready(why: str) -> Response:
    return Response(f"not ready: {why}\n", status=503, mimetype="text/plain")


def _data_dir() -> Path:
    wanted = settings().data_dir
    return wanted if wanted.exists() else wanted.parent


def _size(count: int) -> str:
    return (
        f"{count / 1_000_000_000:.1f} GB" if count >= 1_000_000_000 else f"{count // 1_000_000} MB"
    )


@blueprint.post("/language")
def choose_language() -> ResponseReturnValue:
    """Save the chosen language, and redirect back."""
    return _keep(languages.COOKIE, request.form.get("lang", ""), languages.offered())


@blueprint.post("/units")
def choose_units() -> ResponseReturnValue:
    """Save the chosen units, and redirect back."""
    return _keep(measures.COOKIE, request.form.get("units", ""), measures.SYSTEMS)


def _keep(cookie: str, wanted: str, known: Container[str]) -> ResponseReturnValue:
    response = redirect(safe_redirect(request.form.get("back", "")) or "/", 303)
    if wanted in known:
        response.set_cookie(
            cookie_name(cookie),
            wanted,
            max_age=A_YEAR,
            secure=settings().https,
            httponly=True,
            samesite="Lax",
        )
    return response


@blueprint.get("/books/")
@blueprint.get("/books/<path:rest>")
def old_office(rest: str = "") -> ResponseReturnValue:
    """Send who kept an address of the office from an earlier release to the page's own."""
    query = request.query_string.decode("ascii", "ignore")
    return redirect(f"/office/{quote(rest)}" + (f"?{query}" if query else ""), 308)


@blueprint.get("/robots.txt")
@in_the_open
def robots() -> Response:
    """List the private paths for robots."""
    return Response(ROBOTS, mimetype="text/plain")


@blueprint.get("/favicon.ico")
@blueprint.get("/favicon.svg")
@in_the_open
def favicon() -> Response:
    found: assets.Assets = current_app.extensions["assets"]
    return assets.answer(found.files["pictures/favicon.svg"], keep=A_DAY)
