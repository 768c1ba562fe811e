"""The addresses of this audience: one table, read at a glance."""

from flask import Blueprint

from portal.web.status import page

blueprint = Blueprint("status", __name__)

blueprint.get("/J/<token>")(page.show)
