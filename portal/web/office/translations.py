"""The shop's own texts in the other languages of its pages, and which are missing."""

from typing import Any

from flask import make_response, redirect, render_template, url_for
from flask_babel import gettext as _

from portal.orders.office import documents
from portal.render.reader import reader_for
from portal.render.text import colour_name
from portal.shop.own_words import OwnPlace, OwnText, missing, own_texts
from portal.shop.roles import Role
from portal.shop.translations import LONGEST_TRANSLATION, TRANSLATIONS
from portal.web.kit.forms import AreaField, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import offered
from portal.web.kit.request_context import shop, unit
from portal.web.office.editions import EditionForm, save_edition

Places = list[tuple[OwnText, dict[str, str]]]


class TranslationsForm(EditionForm):
    """The translations; one field is added for each text and language."""


@require_role(Role.OFFICE)
@checks_its_form
def translations() -> Any:
    here = unit()
    places = _places()
    form = _form(places)
    if not form.is_submitted():
        form.expected_edition_id.data = str(documents.newest(here, TRANSLATIONS))
    elif form.validate() and _save(form, places):
        return redirect(url_for("office.translations"), code=303)
    page = render_template(
        "office/translations.html",
        form=form,
        places=places,
        names=offered(),
        missing=missing(shop(), offered()),
    )
    return make_response(page, 422 if form.errors else 200)


def _others() -> list[str]:
    """Return the languages of the pages that the shop doesn't write in itself."""
    return [code for code in offered() if code != shop().locale.partition("-")[0]]


def _places() -> Places:
    """Return every text with its field's name in each language."""
    return [
        (own, {code: f"t{n}-{code}" for code in _others()})
        for n, own in enumerate(own_texts(shop()))
    ]


def _form(places: Places) -> TranslationsForm:
    known, names = shop().translations, offered()
    fields: dict[str, Any] = {}
    for own, keys in places:
        for code, key in keys.items():
            translated = known.get(code, {}).get(own.text, "")
            kind = TextField if own.place is OwnPlace.POWDER else AreaField
            fields[key] = kind(
                names[code],
                default=translated,
                longest=LONGEST_TRANSLATION,
                render_kw={"lang": code, "placeholder": _offered(own, code)},
            )
    made: TranslationsForm = type("OwnTranslations", (TranslationsForm,), fields)()
    return made


def _offered(own: OwnText, language: str) -> str:
    """Return the name that a RAL colour has in a language without anybody writing it."""
    found = (
        colour_name(own.text, reader_for(shop(), language)) if own.place is OwnPlace.POWDER else ""
    )
    return found if found != own.text else ""


def _save(form: TranslationsForm, places: Places) -> bool:
    body: dict[str, dict[str, str]] = {}
    for own, keys in places:
        for code, key in keys.items():
            if form[key].data:
                body.setdefault(code, {})[own.text] = form[key].data
    return save_edition(
        form,
        TRANSLATIONS,
        lambda here, **more: documents.put_document(here, TRANSLATIONS, body, **more),
        lambda _made: _("Saved. Customers read these texts from now on."),
    )
