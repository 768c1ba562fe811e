"""The letters: read them, and send again those that could not leave."""

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask_babel import gettext as _

from portal.orders import books_letters
from portal.orders.errors import Refused
from portal.shop.roles import Role
from portal.web.kit.desk import unit
from portal.web.kit.guards import staff, the_person


@staff(Role.OFFICE)
def letters() -> Any:
    """List the letters, the newest first."""
    state, before = request.args.get("state", ""), request.args.get("before", "")
    found = books_letters.letters(
        unit(), state=state, before=int(before) if before.isdecimal() else None
    )
    more = found[-1].letter_id if len(found) == books_letters.A_PAGE else None
    return render_template("books/letters.html", letters=found, state=state, more=more)


@staff(Role.OFFICE)
def letter(number: int) -> Any:
    """Show one letter; put it back into the outbox."""
    if request.method == "POST":
        try:
            books_letters.send_again(unit(), number, who=the_person().person_id)
            flash(_("The letter leaves again within a minute."))
        except Refused as refusal:
            flash(refusal.sentence, "stop")
        return redirect(url_for("books.letter", number=number), code=303)
    return render_template("books/letter.html", letter=books_letters.letter(unit(), number))
