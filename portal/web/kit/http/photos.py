"""Photos behind unguessable links."""

from flask import Blueprint, Response

from portal.orders.kernel.photos import photo
from portal.web.kit.request_context import unit

blueprint = Blueprint("photos", __name__)


@blueprint.get("/photo/<token>")
def show(token: str) -> Response:
    """Return one photo; no shared cache may store it."""
    response = Response(photo(unit(), token), mimetype="image/jpeg")
    response.headers["Cache-Control"] = "no-store"
    response.headers["Content-Disposition"] = "inline"
    return response
