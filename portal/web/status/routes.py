"""The addresses of this audience in one table."""

from flask import Blueprint

from portal.web.status import answering, page

blueprint = Blueprint("status", __name__)

# a link that was copied by hand, or typed by a scanner, may arrive in lower case
for letter in ("J", "j"):
    blueprint.get(f"/{letter}/<token>")(page.show)
    blueprint.get(f"/{letter}/<token>/price")(page.price)
    blueprint.post(f"/{letter}/<token>/answer")(answering.answer)
