"""The addresses of this audience: one table, read at a glance."""

from flask import Blueprint

from portal.web.intake import landing

blueprint = Blueprint("intake", __name__)

blueprint.add_url_rule("/", view_func=landing.landing, methods=["GET"])
blueprint.add_url_rule("/why-powder", view_func=landing.why_powder, methods=["GET"])
