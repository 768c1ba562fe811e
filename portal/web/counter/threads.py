"""What a customer wrote by the link: one thread, to read and to answer."""

from werkzeug.wrappers import Response
from wtforms import HiddenField

from portal.orders.counter import thread_answers, threads_view
from portal.orders.kernel.errors import Refusal
from portal.render.catalogues import own_name
from portal.shop.roles import Role
from portal.web.counter.answer_form import StaffAnswerForm, closes, flash_settled
from portal.web.counter.desk import WRONG, add_error, me, page, to
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import number_of, unit


class ThreadAnswerForm(StaffAnswerForm):
    """`last_entry_id` is the newest entry that was read."""

    last_entry_id = HiddenField()


@require_role(Role.COUNTER)
@checks_its_form
def thread(number: int) -> Response:
    """Show what was written about a job in one matter, and answer it."""
    form = ThreadAnswerForm()
    if form.is_submitted() and form.validate() and _answer(number, form):
        return to("questions")
    view = threads_view.thread_view(unit(), number)
    form.last_entry_id.data = str(view.talk.last_id)
    return page(
        "thread",
        WRONG if form.errors or form.form_errors else 200,
        view=view,
        form=form,
        spoken=own_name(view.locale),
    )


def _answer(number: int, form: ThreadAnswerForm) -> bool:
    last_entry_id = number_of(form.last_entry_id.data)
    try:
        if closes():
            thread_answers.close(unit(), number, last_entry_id=last_entry_id, who=me())
        else:
            thread_answers.answer(
                unit(),
                number,
                form.words,
                last_entry_id=last_entry_id,
                once_token=form.token,
                who=me(),
            )
    except Refusal as refusal:
        add_error(form, refusal)
        return False
    flash_settled(closed=closes())
    return True
