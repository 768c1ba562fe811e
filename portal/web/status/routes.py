"""The addresses of this audience in one table."""

from flask import Blueprint

from portal.web.status import (
    answering,
    ask,
    drop_off,
    lost_link,
    news,
    page,
    prepare,
    receipts,
    show,
)

blueprint = Blueprint("status", __name__)
blueprint.route("/lost-slip", methods=["GET", "POST"])(lost_link.lost_link)

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
    blueprint.route(f"/{letter}/<token>/prepare", methods=["GET", "POST"])(prepare.prepare)
    blueprint.route(f"/{letter}/<token>/prepare/<name>", methods=["GET", "POST"])(prepare.cannot)
    blueprint.route(f"/{letter}/<token>/time", methods=["GET", "POST"])(drop_off.move)
    blueprint.route(f"/{letter}/<token>/call-off", methods=["GET", "POST"])(drop_off.call_off)
    blueprint.get(f"/{letter}/<token>/receipts")(receipts.receipts)
    blueprint.post(f"/{letter}/<token>/receipts")(receipts.make_out_to)
    blueprint.get(f"/{letter}/<token>/receipts/<number>")(receipts.receipt)
    blueprint.get(f"/{letter}/<token>/receipts/<number>/pdf")(receipts.receipt_pdf)
    blueprint.get(f"/{letter}/<token>/receipts/<number>/xml")(receipts.receipt_xml)
