"""The shop's tags: free, in use and where, retired."""

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from flask_babel import ngettext
from werkzeug.wrappers import Response

from portal.orders.counter import tags as verbs
from portal.orders.kernel.errors import Refusal
from portal.shop.roles import Role
from portal.web.counter.desk import WRONG, add_error, attempt, page, to
from portal.web.kit.forms import PageForm, Required, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import unit

KEYS = {"inputmode": "numeric", "autocomplete": "off"}


class AddForm(PageForm):
    """A range of new tags."""

    first = TextField(
        _l("First number"), [Required(_l("Enter the first number."))], longest=8, render_kw=KEYS
    )
    last = TextField(_l("Last number"), longest=8, render_kw=KEYS)


class RetireForm(PageForm):
    """A tag that is lost or worn."""

    number = TextField(
        _l("Tag number"), [Required(_l("Enter the tag number."))], longest=8, render_kw=KEYS
    )


@require_role(Role.COUNTER)
def show() -> Response:
    return _tags_page(AddForm(formdata=None), RetireForm(formdata=None))


@require_role(Role.COUNTER)
@checks_its_form
def add() -> Response:
    form = AddForm()
    if form.validate_on_submit():
        try:
            new = verbs.add_tags(unit(), form.first.data or "", form.last.data or "")
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            notice = ngettext("One tag added.", "%(num)s tags added.", new)
            return attempt(lambda: notice, to("tags"))
    return _tags_page(form, RetireForm(formdata=None))


@require_role(Role.COUNTER)
@checks_its_form
def retire() -> Response:
    form = RetireForm()
    if form.validate_on_submit():
        try:
            number = verbs.retire_tag(unit(), form.number.data or "")
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            return attempt(lambda: _("Tag %(tag)s is out of use.", tag=number), to("tags"))
    return _tags_page(AddForm(formdata=None), form)


def _tags_page(adding: AddForm, retiring: RetireForm) -> Response:
    wrong = adding if adding.errors else retiring
    return page(
        "tags",
        WRONG if wrong.errors else 200,
        tags=verbs.tags(unit()),
        adding=adding,
        retiring=retiring,
        form=wrong if wrong.errors else None,
    )
