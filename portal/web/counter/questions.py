"""Questions that customers ask before booking: the list, and one with its order to answer."""

from typing import Any

from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.counter import answering_questions, questions_view, threads_view
from portal.orders.kernel.errors import Refusal
from portal.orders.office import erasing
from portal.render.catalogues import own_name
from portal.shop.assessment.assess import Assessment
from portal.shop.roles import Role
from portal.web.counter.answer_form import StaffAnswerForm, closes, flash_settled
from portal.web.counter.desk import WRONG, add_error, attempt, me, page, to
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import unit


@require_role(Role.COUNTER)
def questions() -> Response:
    """List the open questions, the oldest first, and the last answered ones."""
    return page(
        "questions",
        waiting=questions_view.to_answer(unit()),
        answered=questions_view.answered_lately(unit()),
        about_jobs=threads_view.threads_to_answer(unit()),
        answered_jobs=threads_view.threads_lately(unit()),
    )


@require_role(Role.COUNTER)
@checks_its_form
def question(number: int) -> Response:
    """Show a question with its order, and answer it."""
    form = StaffAnswerForm()
    if form.is_submitted() and form.validate() and _answer(number, form):
        return to("questions")
    view = questions_view.question_view(unit(), number)
    return page(
        "question",
        WRONG if form.errors else 200,
        view=view,
        form=form,
        spoken=own_name(view.locale),
        colours=_colours(view.assessment),
    )


@require_role(Role.OFFICE)
def erase(number: int) -> Response:
    """Delete a question and its order, because the customer asks for it."""

    def work() -> Any:
        erasing.erase_asker(unit(), number, who=me())
        return _("Deleted: the question, its order, photos and letters.")

    return attempt(work, to("questions"))


def _colours(assessment: Assessment | None) -> dict[str, str]:
    """Return the names of the powders in the question, by set."""
    sets = assessment.sets if assessment else ()
    return {
        one.part_set.key: " + ".join(coat.powder.name for coat in one.coats.coats)
        for one in sets
        if one.coats
    }


def _answer(number: int, form: StaffAnswerForm) -> bool:
    verb = answering_questions.close if closes() else answering_questions.answer
    try:
        verb(unit(), number, form.words, once_token=form.token, who=me())
    except Refusal as refusal:
        add_error(form, refusal)
        return False
    flash_settled(closed=closes())
    return True
