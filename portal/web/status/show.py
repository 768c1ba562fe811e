"""The codes to be shown at the counter: large on the screen, and as a picture to be saved."""

from flask import Response, render_template, url_for
from flask.typing import ResponseReturnValue

from portal.shop.codes import printed_link
from portal.web.kit.paper import qr
from portal.web.kit.paper.code_picture import code_picture
from portal.web.kit.request_context import unit
from portal.web.status.digits import is_known
from portal.web.status.page import look


def show_big(token: str) -> ResponseReturnValue:
    """Show the code of the job, and the pickup code to who has given the telephone's digits."""
    view = look(token)
    pickup = view.pickup_code if is_known(view.token) else ""
    return render_template(
        "status/show.html",
        view=view,
        pickup=pickup,
        qr=qr.svg,
        printed=printed_link(unit().base_url, view.token),
        picture=url_for("status.show_picture", token=view.token),
    )


def show_picture(token: str) -> ResponseReturnValue:
    """Return the codes as one picture, for a place without a network."""
    view = look(token)
    pickup = view.pickup_code if is_known(view.token) else ""
    own = (printed_link(unit().base_url, view.token), view.code)
    # who collects is asked for the pickup code first
    codes = [(pickup, pickup), own] if pickup else [own]
    answer = Response(code_picture(codes), mimetype="image/png")
    answer.headers["Content-Disposition"] = f'attachment; filename="{view.code}.png"'
    return answer
