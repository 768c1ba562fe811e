"""Where the job is: the page behind the link on the slip."""

from typing import Any

from flask import g, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from portal.orders.looking_status import StatusPage, code_behind, status
from portal.shop.quote import Quote
from portal.web.kit.desk import unit
from portal.web.kit.pictures.parts import part
from portal.web.kit.sessions import current_person
from portal.web.status.answer import AnswerForm, forms_for

ART = 64  # the picture on the rail, in px


def show(token: str) -> ResponseReturnValue:
    """Show the status page; staff who scan the same code are taken to the job at the counter."""
    if current_person() is not None:
        return redirect(f"/counter/job/{code_behind(unit(), token)}", 303)
    seen = look(token)
    return render(seen, forms_for(seen))


def price(token: str) -> ResponseReturnValue:
    """Show every line of the price."""
    seen = look(token)
    quote = Quote.from_dict(seen.quote) if seen.quote else None
    return render_template("status/price.html", seen=seen, price=quote, links=_links(seen))


def look(token: str) -> StatusPage:
    """Return the page's data; the shop that came with it serves the rest of the request."""
    seen = status(unit(), token)
    g.shop = seen.shop
    return seen


def render(seen: StatusPage, forms: dict[int, AnswerForm]) -> str:
    """Render the page with the forms for its open findings."""
    wrong = next((form for form in forms.values() if form.errors), None)
    picture = part(seen.picture, seen.shop.stock, ART) if seen.picture and seen.stops else ""
    return render_template(
        "status/status.html",
        seen=seen,
        forms=forms,
        form=wrong,
        picture=picture,
        links=_links(seen),
    )


def _links(seen: StatusPage) -> dict[str, Any]:
    token = seen.token
    return {
        "status": url_for("status.show", token=token),
        "slip": url_for("slip.show_slip", token=token),
        "pdf": url_for("slip.slip_pdf", token=token),
        "calendar": url_for("slip.drop_off", token=token),
        "answer": url_for("status.answer", token=token),
        "price": url_for("status.price", token=token),
    }
