"""How a page of the office saves a new edition of a document, and answers for it."""

from collections.abc import Callable
from typing import Any, TypeVar

from flask import flash
from wtforms import HiddenField

from portal.craft.messages import Message
from portal.orders.kernel.errors import Already, Overtaken, Refused
from portal.orders.office import documents
from portal.web.kit.forms import PageForm
from portal.web.kit.http.guards import the_person
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import number_of, unit

Saved = TypeVar("Saved")


class EditionForm(PageForm):
    """A form whose page was made of an edition; a save from an older one is refused."""

    expected_edition_id = HiddenField()


def as_it_is(sentence: Message) -> Message:
    """Return what a refusal says."""
    return sentence


def save_edition(
    form: Any,
    kind: str,
    put: Callable[..., Saved],
    saved: Callable[[Saved], str],
    *,
    in_words: Callable[[Message], Message] = as_it_is,
    field_of: Callable[[str], str] = str,
) -> bool:
    """Save by `put`, which takes `expected_edition_id` and `who`, and flash what `saved` says.

    False where something is to be corrected: it stands in the form, `in_words` and beside the
    field that `field_of` finds. Whoever saves again has read what the other changed.
    """
    expected = number_of(form.expected_edition_id.data)
    try:
        made = put(unit(), expected_edition_id=expected, who=the_person().person_id)
    except Already as refusal:
        flash(render(refusal.sentence))
        return True
    except Overtaken as refusal:
        form.expected_edition_id.raw_data = None
        form.expected_edition_id.data = str(documents.newest(unit(), kind))
        return bool(form.add_error("", in_words(refusal.sentence)))
    except Refused as refusal:
        return bool(form.add_error(field_of(refusal.key), refusal.sentence))
    flash(saved(made))
    return True
