"""The addresses of this audience in one table."""

from typing import Any

from flask import Blueprint

from portal.shop.codes import read_token
from portal.web.status import (
    after,
    answering,
    ask,
    contact,
    drop_off,
    finish,
    lost_link,
    news,
    page,
    pickup,
    prepare,
    push,
    receipts,
    show,
)

blueprint = Blueprint("status", __name__)


@blueprint.url_value_preprocessor
def _as_typed(_endpoint: str | None, values: dict[str, Any] | None) -> None:
    """Read a link as somebody types it from the slip: in groups, in either case."""
    if values and "token" in values:
        values["token"] = read_token(values["token"])


blueprint.route("/lost-slip", methods=["GET", "POST"])(lost_link.lost_link)
blueprint.get("/record/<record>", endpoint="record_handed_on")(after.handed_on)

blueprint.get("/push/worker.js")(push.worker)

# a link that was copied by hand, or typed by a scanner, may arrive in lower case
for letter in ("J", "j"):
    blueprint.get(f"/{letter}/<token>")(page.show)
    blueprint.get(f"/{letter}/<token>/price")(page.price)
    blueprint.post(f"/{letter}/<token>/answer")(answering.answer)
    blueprint.route(f"/{letter}/<token>/ask", methods=["GET", "POST"])(ask.ask)
    blueprint.get(f"/{letter}/<token>/show")(show.show_big)
    blueprint.get(f"/{letter}/<token>/show.png")(show.show_picture)
    blueprint.route(f"/{letter}/<token>/news", methods=["GET", "POST"])(news.news)
    blueprint.route(f"/{letter}/<token>/news/<kind>", methods=["GET", "POST"])(news.one_kind)
    blueprint.route(f"/{letter}/<token>/messages", methods=["GET", "POST"])(push.messages)
    blueprint.route(f"/{letter}/<token>/prepare", methods=["GET", "POST"])(prepare.prepare)
    blueprint.route(f"/{letter}/<token>/prepare/<name>", methods=["GET", "POST"])(prepare.cannot)
    blueprint.route(f"/{letter}/<token>/time", methods=["GET", "POST"])(drop_off.move)
    blueprint.route(f"/{letter}/<token>/call-off", methods=["GET", "POST"])(drop_off.call_off)
    blueprint.route(f"/{letter}/<token>/finish", methods=["GET", "POST"])(finish.finish)
    blueprint.route(f"/{letter}/<token>/contact", methods=["GET", "POST"])(contact.contact)
    blueprint.post(f"/{letter}/<token>/language")(contact.language)
    blueprint.route(f"/{letter}/<token>/fetch", methods=["GET", "POST"])(contact.fetch)
    blueprint.route(f"/{letter}/<token>/code", methods=["GET", "POST"])(pickup.code)
    blueprint.route(f"/{letter}/<token>/pickup-time", methods=["GET", "POST"])(pickup.pickup_time)
    blueprint.get(f"/{letter}/<token>/pay")(pickup.pay)
    blueprint.route(f"/{letter}/<token>/wrong", methods=["GET", "POST"])(after.wrong)
    blueprint.route(f"/{letter}/<token>/again", methods=["GET", "POST"])(after.again)
    blueprint.get(f"/{letter}/<token>/record")(after.record)
    blueprint.post(f"/{letter}/<token>/record")(after.record_link)
    blueprint.get(f"/{letter}/<token>/receipts")(receipts.receipts)
    blueprint.post(f"/{letter}/<token>/receipts")(receipts.make_out_to)
    blueprint.get(f"/{letter}/<token>/receipts/<number>")(receipts.receipt)
    blueprint.get(f"/{letter}/<token>/receipts/<number>/pdf")(receipts.receipt_pdf)
    blueprint.get(f"/{letter}/<token>/receipts/<number>/xml")(receipts.receipt_xml)
