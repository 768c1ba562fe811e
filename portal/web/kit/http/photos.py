"""Photos behind unguessable links; whoever has the page has the link."""

from flask import Blueprint, Response

from portal.orders.kernel.photos import photo
from portal.web.kit.request_context import unit

blueprint = Blueprint("photos", __name__)


@blueprint.get("/photo/<token>")
def show(token: str) -> Response:
    """Return one photo; it is somebody's own, so nobody on the way may keep it."""
    response = Response(photo(unit(), token), mimetype="image/jpeg")
    response.headers["Cache-Control"] = "no-store"
    response.headers["Content-Disposition"] = "inline"
    return response
