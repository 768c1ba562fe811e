"""The form by which a drop-off is moved, by staff or by the customer."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from flask_babel import lazy_gettext as _l
from wtforms import HiddenField
from wtforms.validators import StopValidation

from portal.orders.counter.appointments import FreeAppointment, named
from portal.web.kit.forms import OnceForm, RadioChoiceField, Required, offered_by
from portal.web.kit.i18n.languages import clock_time
from portal.web.kit.i18n.languages import day as day_text


class TimeField(RadioChoiceField):
    """One of the free times, with the promise that was read beside it.

    A date that has changed since is the order's to judge; others may have taken the time meanwhile.
    """

    def pre_validate(self, form: Any) -> None:
        """Explain why a time is no longer offered."""
        moment = named(str(self.data or ""))
        free = {named(one) for one in offered_by(self)}
        if self.data and (moment is None or moment[0] not in {one[0] for one in free if one}):
            raise StopValidation(_l("This time is no longer free. Choose another one."))


class MoveForm(OnceForm):
    """The new drop-off time; its value carries the promise that was read beside it."""

    expected_event_id = HiddenField()
    slot = TimeField(_l("New drop-off time"), [Required(_l("Choose the new time."))])

    @classmethod
    def of(cls, free: Iterable[FreeAppointment]) -> "MoveForm":
        """Return the form with the times that are free."""
        form = cls()
        form.slot.choices = [(one.name, _time_of(one)) for one in free]
        return form

    @property
    def chosen(self) -> tuple[datetime, str]:
        """The start of the chosen time, aware UTC, and the promise that was read."""
        found = named(str(self.slot.data or ""))
        assert found is not None  # the form was validated
        return found


def _time_of(one: FreeAppointment) -> str:
    start, end = one.offer.start, one.offer.end
    return f"{day_text(start)}, {clock_time(start)}–{clock_time(end)}"
