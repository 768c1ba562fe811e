"""Privacy and terms: the shop's own text in each language, beside the standard one."""

from collections.abc import Mapping
from typing import Any

from flask import make_response, redirect, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.kernel.errors import Unknown
from portal.orders.office import documents
from portal.orders.office.policies import standard
from portal.render import text
from portal.render.reader import reader_for
from portal.shop.policies import LONGEST_POLICY, Policy, written
from portal.shop.roles import Role
from portal.web.kit.forms import AreaField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import offered
from portal.web.kit.request_context import number_of, shop, unit
from portal.web.office.editions import EditionForm, save_edition


class PolicyForm(EditionForm):
    """The texts; one field is added for each language."""


@require_role(Role.OFFICE)
@checks_its_form
def policy(kind: str) -> Any:
    here, which = unit(), Policy(kind)
    document = _document(which)
    form = _form(which, document.body if document else {})
    if not form.is_submitted():
        form.expected_edition_id.data = str(documents.newest(here, kind))
    elif form.validate() and _save(which, form):
        return redirect(url_for("office.policy", kind=kind), code=303)
    page = render_template(
        "office/policy.html",
        policy=which,
        form=form,
        versions=document.history if document else (),
        languages_of=offered(),
        standard=_standard(which),
        missing=_missing(document.body if document else {}),
    )
    return make_response(page, 422 if form.errors else 200)


def _document(which: Policy) -> documents.Document | None:
    """Return the edition in force, or the requested one; None where there is none."""
    edition = number_of(request.args.get("edition", "")) or None
    try:
        return documents.document(unit(), which.value, edition)
    except Unknown:
        return None


def _form(which: Policy, body: Mapping[str, Any]) -> PolicyForm:
    start = request.args.get("start", "")
    fields: dict[str, Any] = {}
    for code, name in offered().items():
        text = str(body.get(code, ""))
        if code == start and not text:
            text = _standard(which)[code]
        fields[code] = AreaField(
            _l("Your own text"),
            description=name,
            default=text,
            longest=LONGEST_POLICY,
            render_kw={"rows": 14, "lang": code},
            filters=[_one_kind_of_line_end],
        )
    made: PolicyForm = type("PolicyTexts", (PolicyForm,), fields)()
    return made


def _one_kind_of_line_end(text: Any) -> Any:
    return text.replace("\r\n", "\n").strip() if isinstance(text, str) else text


def _standard(which: Policy) -> dict[str, str]:
    """Return the standard text in each language, in the notation of the form."""
    blocks = standard(which, shop())
    return {
        code: written(
            type(one)(one.kind, text.render(one.says, reader_for(shop(), code))) for one in blocks
        )
        for code in offered()
    }


def _missing(body: Mapping[str, Any]) -> list[str]:
    """Return the languages without a text where the shop has written another."""
    if not any(body.values()):
        return []
    return [name for code, name in offered().items() if not body.get(code)]


def _save(which: Policy, form: PolicyForm) -> bool:
    body = {code: form[code].data for code in offered() if form[code].data}
    return save_edition(
        form,
        which.value,
        lambda here, **more: documents.put_document(here, which.value, body, **more),
        lambda _made: _("Saved. Customers read this text from now on."),
    )
