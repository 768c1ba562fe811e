"""The house's own addresses: is it alive, is it ready, what may robots read, its sign."""

from flask import Blueprint, Response, current_app
from sqlalchemy.exc import SQLAlchemyError

from portal.web.kit import assets
from portal.web.kit.desk import shop
from portal.web.kit.security import in_the_open

blueprint = Blueprint("house", __name__)

ROBOTS = "User-agent: *\nDisallow: /o/\nDisallow: /r/\nDisallow: /J/\nDisallow: /counter/\n"
A_DAY = "public, max-age=86400"


@blueprint.get("/healthz")
def alive() -> Response:
    """Answer as long as the process runs."""
    return Response("ok\n", mimetype="text/plain")


@blueprint.get("/readyz")
def ready() -> Response:
    """Answer when the database does, and the shop can be read from it."""
    try:
        shop()
    except SQLAlchemyError:
        current_app.logger.exception("not ready")
        return Response("the database does not answer\n", status=503, mimetype="text/plain")
    return Response("ready\n", mimetype="text/plain")


@blueprint.get("/robots.txt")
@in_the_open
def robots() -> Response:
    """Tell robots which rooms are private."""
    return Response(ROBOTS, mimetype="text/plain")


@blueprint.get("/favicon.ico")
@blueprint.get("/favicon.svg")
@in_the_open
def favicon() -> Response:
    """Return the sign of the house."""
    found: assets.Assets = current_app.extensions["assets"]
    return assets.answer(found.files["pictures/favicon.svg"], keep=A_DAY)
