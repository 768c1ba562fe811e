"""Letters: reading them, sending failed ones again, and the shop's own words in them."""

from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.kernel.errors import Refused
from portal.orders.kernel.heartbeat import mail_worker
from portal.orders.office import documents, letter_words
from portal.shop.own_words import OwnPlace, missing
from portal.shop.roles import Role
from portal.shop.shop import LETTERS, LONGEST_WORDS
from portal.web.kit.forms import AreaField, MailField, PageForm, Required
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.i18n.languages import label, offered, reader, render
from portal.web.kit.request_context import number_of, settings, shop, unit
from portal.web.kit.typed_text import Reads, mail_address
from portal.web.office.editions import EditionForm, save_edition


class WordsForm(EditionForm):
    """The shop's own words, one field for each kind of letter."""


class TestLetterForm(PageForm):
    """Where a test letter goes."""

    to = MailField(_l("E-mail"), [Required(_l("Enter your e-mail address.")), Reads(mail_address)])


@require_role(Role.OFFICE)
@checks_its_form
def letters() -> Any:
    """List the letters, and send one to see whether letters arrive."""
    form = TestLetterForm()
    if form.validate_on_submit():
        to, who = mail_address(form.to.data or ""), the_person().person_id
        letter_words.send_test_letter(unit(), to, language=reader().language, who=who)
        flash(_("The letter will be sent within a minute."))
        return redirect(url_for("office.letters"), code=303)
    return make_response(_list(form), 422 if form.errors else 200)


def _list(form: TestLetterForm) -> str:
    state, before = request.args.get("state", ""), request.args.get("before", "")
    found = letter_words.letters(unit(), state=state, before=number_of(before) or None)
    more = found[-1].letter_id if len(found) == letter_words.A_PAGE else None
    return render_template(
        "office/letters.html",
        letters=found,
        state=state,
        more=more,
        form=form,
        mail=mail_worker(unit()),
        sends=bool(settings().smtp_url) or settings().demo,
    )


@require_role(Role.OFFICE)
def letter(number: int) -> Any:
    """Show one letter; put it back into the outbox."""
    if request.method == "POST":
        try:
            letter_words.send_again(unit(), number, who=the_person().person_id)
            flash(_("The letter will be sent within a minute."))
        except Refused as refusal:
            flash(render(refusal.sentence), "stop")
        return redirect(url_for("office.letter", number=number), code=303)
    return render_template("office/letter.html", letter=letter_words.letter(unit(), number))


@require_role(Role.OFFICE)
@checks_its_form
def words() -> Any:
    """Show each kind of letter as it is sent, and the shop's own words in it."""
    here = unit()
    own = letter_words.letter_words(here)
    fields: dict[str, Any] = {
        one.kind.value: AreaField(label(one.kind), default=one.words, longest=LONGEST_WORDS)
        for one in own
    }
    form: WordsForm = type("OwnWordsForm", (WordsForm,), fields)()
    if not form.is_submitted():
        form.expected_edition_id.data = str(documents.newest(here, LETTERS))
    elif form.validate() and _save_words(form, [one.kind.value for one in own]):
        return redirect(url_for("office.words"), code=303)
    languages = missing(shop(), offered(), OwnPlace.LETTER)
    page = render_template(
        "office/words.html", own=own, form=form, missing=languages, names=offered()
    )
    return make_response(page, 422 if form.errors else 200)


def _save_words(form: WordsForm, kinds: list[str]) -> bool:
    words = {kind: form[kind].data or "" for kind in kinds}
    return save_edition(
        form,
        LETTERS,
        lambda here, **more: letter_words.put_letter_words(here, words, **more),
        lambda _made: _("Saved. New letters will include this text."),
    )
