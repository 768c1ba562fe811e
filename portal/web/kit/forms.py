"""Form fields: the right keyboard, input kept as typed, errors in plain words.

Each field has error messages of its own; the macros show them beside the field and in the list
at the top. A form that must count once carries a `once` token.
"""

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal, InvalidOperation
from enum import Enum
from typing import Any, ClassVar

from flask_babel import lazy_gettext as _l
from flask_wtf import FlaskForm
from flask_wtf.file import FileField
from wtforms import (
    BooleanField,
    Field,
    HiddenField,
    PasswordField,
    RadioField,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
)
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]  # newer than stubs
from wtforms.validators import Optional, StopValidation
from wtforms.widgets import CheckboxInput, ListWidget, TextInput

from portal.web.kit.i18n.languages import label
from portal.web.kit.request_context import fresh_token

Choices = Sequence[tuple[str, Any]]
LONGEST_LINE = 120
LONGEST_NOTE = 1000
MOST_ECHOED = 500  # of what is too long, beyond what a field takes
LONGEST_HIDDEN = 4000  # of a field that nobody types into


class Bounded:
    """Keeps of what is too long enough to see what went wrong, and no megabyte to send back."""

    def process(self, *args: Any, **kwargs: Any) -> None:
        """Fill the fields, and cut what no page of ours can have sent."""
        super().process(*args, **kwargs)  # type: ignore[misc]  # beside a form of WTForms
        fields: Iterable[Field] = self  # type: ignore[assignment]  # as above
        for field in fields:
            typed = (field.render_kw or {}).get("maxlength", LONGEST_HIDDEN)
            most = int(typed) + MOST_ECHOED
            if field.raw_data:
                field.raw_data = [cut(one, most) for one in field.raw_data]
            field.data = cut(field.data, most)


class PageForm(Bounded, FlaskForm):
    """A form of ours: `add_error` puts a refusal of the orders beside the field it speaks of."""

    def add_error(self, field_name: str, sentence: Any) -> bool:
        """Add an error to a field (or to the form, where there is no such field)."""
        field = self._fields.get(field_name)
        if field is None:
            self.form_errors.append(sentence)
        else:
            field.errors = [*field.errors, sentence]
        return False


class OnceField(HiddenField):
    """A token that makes a final button count once, however often it is pressed."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            default=fresh_token, validators=[Required(_l("Press the button again."))], **kwargs
        )


class OnceForm(PageForm):
    """A form whose button must count once."""

    once = OnceField()


class Required:
    """Require a field, with a message of its own; parse errors have been reported already."""

    field_flags: ClassVar[dict[str, bool]] = {"required": True}

    def __init__(self, sentence: Any) -> None:
        self.sentence = sentence

    def __call__(self, _form: Any, field: Field) -> None:
        """Reject empty values; 0 is valid."""
        if field.process_errors:
            raise StopValidation
        data = field.data
        if data is None or data is False or data in ("", []):
            raise StopValidation(self.sentence)


class TextField(StringField):
    """One line of text, stripped."""

    def __init__(
        self,
        label: Any = None,
        validators: Iterable[Any] = (),
        *,
        longest: int = LONGEST_LINE,
        **kwargs: Any,
    ) -> None:
        keys = {"maxlength": longest} | kwargs.pop("render_kw", {})
        # browsers know how long a date is, and HTML forbids to say it
        if keys.get("type") in ("date", "datetime-local"):
            del keys["maxlength"]
        kwargs.setdefault("filters", [_strip])
        super().__init__(label, [*validators, MaxLength(longest)], render_kw=keys, **kwargs)


class AreaField(TextAreaField):
    """Several lines of text."""

    def __init__(
        self,
        label: Any = None,
        validators: Iterable[Any] = (),
        *,
        longest: int = LONGEST_NOTE,
        **kwargs: Any,
    ) -> None:
        keys = {"maxlength": longest, "rows": 4} | kwargs.pop("render_kw", {})
        kwargs.setdefault("filters", [_strip])
        super().__init__(label, [*validators, MaxLength(longest)], render_kw=keys, **kwargs)


class MailField(TextField):
    """An e-mail address, with the keyboard that has @."""

    def __init__(self, label: Any = None, validators: Iterable[Any] = (), **kwargs: Any) -> None:
        keys = {"type": "email", "autocomplete": "email", "spellcheck": "false"}
        kwargs["render_kw"] = keys | kwargs.pop("render_kw", {})
        super().__init__(label, validators, longest=254, **kwargs)


class TelField(TextField):
    """A telephone number, with the numeric keypad."""

    def __init__(self, label: Any = None, validators: Iterable[Any] = (), **kwargs: Any) -> None:
        kwargs["render_kw"] = {"type": "tel", "autocomplete": "tel"} | kwargs.pop("render_kw", {})
        super().__init__(label, validators, longest=40, **kwargs)


class SecretField(PasswordField):
    """A password; it may be pasted and is never sent back."""

    def __init__(self, label: Any = None, validators: Iterable[Any] = (), **kwargs: Any) -> None:
        keys = {"autocomplete": "current-password"} | kwargs.pop("render_kw", {})
        super().__init__(label, list(validators), render_kw=keys, **kwargs)


class CountField(Field):
    """A whole number from `low` to `high`, with the numeric keyboard."""

    widget = TextInput()

    def __init__(
        self,
        label: Any = None,
        validators: Iterable[Any] = (),
        *,
        low: int = 1,
        high: int = 99,
        **kwargs: Any,
    ) -> None:
        keys = {"inputmode": "numeric", "autocomplete": "off", "maxlength": 6}
        kwargs["render_kw"] = keys | kwargs.pop("render_kw", {})
        super().__init__(label, list(validators), **kwargs)
        self.low, self.high = low, high

    def _value(self) -> str:
        if self.raw_data:
            return str(self.raw_data[0])
        return "" if self.data is None else str(self.data)

    def process_formdata(self, valuelist: list[Any]) -> None:
        """Parse the number; the error message names the limits."""
        text = str(valuelist[0]).strip() if valuelist else ""
        self.data = None
        if not text:
            return
        # isdecimal alone would let other scripts' digits pass, which int() reads as well
        is_number = text.isascii() and text.isdecimal()
        if not is_number or not self.low <= int(text[:9]) <= self.high or len(text) > 9:
            raise ValueError(
                _l("Enter a whole number from %(low)s to %(high)s.", low=self.low,
                   high=self.high)
            )  # fmt: skip
        self.data = int(text)


class MeasureField(Field):
    """A decimal number from `low` to `high`; a comma counts as decimal point."""

    widget = TextInput()

    def __init__(
        self,
        label: Any = None,
        validators: Iterable[Any] = (),
        *,
        low: Decimal = Decimal(0),
        high: Decimal = Decimal(100_000),
        **kwargs: Any,
    ) -> None:
        keys = {"inputmode": "decimal", "autocomplete": "off", "maxlength": 12}
        kwargs["render_kw"] = keys | kwargs.pop("render_kw", {})
        super().__init__(label, list(validators), **kwargs)
        self.low, self.high = low, high

    def _value(self) -> str:
        if self.raw_data:
            return str(self.raw_data[0])
        return "" if self.data is None else f"{self.data.normalize():f}"

    def process_formdata(self, valuelist: list[Any]) -> None:
        text = str(valuelist[0]).strip().replace(",", ".") if valuelist else ""
        self.data: Decimal | None = None
        if not text:
            return
        try:
            value = Decimal(text)
            # digits of other scripts are numbers to Python, and to no page of ours
            good = text.isascii() and value.is_finite() and self.low <= value <= self.high
        except InvalidOperation:
            good = False
        if not good:
            raise ValueError(
                _l("Enter a number from %(low)s to %(high)s.", low=self.low, high=self.high)
            )
        self.data = value


class _OfChoices(SelectField):
    """What fields of choices share. `choices` is an enum class or pairs of value and label."""

    def __init__(
        self,
        label: Any = None,
        validators: Iterable[Any] = (),
        *,
        choices: type[Enum] | Choices | Callable[[], Choices] = (),
        **kwargs: Any,
    ) -> None:
        super().__init__(
            label, list(validators), choices=pairs(choices), validate_choice=False, **kwargs
        )


class RadioChoiceField(_OfChoices, RadioField):
    """Radio buttons."""

    def pre_validate(self, form: Any) -> None:
        offered = offered_by(self)
        if self.data not in (None, "", "None") and str(self.data) not in offered:
            raise StopValidation(_l("Choose one of these."))
        if self.data in ("None", ""):
            self.data = None


class SelectChoiceField(_OfChoices, SelectField):
    """A select box."""

    def pre_validate(self, form: Any) -> None:
        offered = offered_by(self)
        if self.data and str(self.data) not in offered:
            raise StopValidation(_l("Choose one of these."))


class MultiCheckboxField(_OfChoices, SelectMultipleField):
    """A group of tick boxes."""

    widget = ListWidget(prefix_label=False)
    option_widget = CheckboxInput()

    def pre_validate(self, form: Any) -> None:
        offered = offered_by(self)
        if any(str(one) not in offered for one in self.data or ()):
            raise StopValidation(_l("Choose from these."))


class CheckboxField(BooleanField):
    """A single tick box."""


class PhotoField(FileField):
    """A photo; a customer decides between camera and album, at work the `camera` opens at once."""

    def __init__(
        self,
        label: Any = None,
        validators: Iterable[Any] = (),
        *,
        camera: bool = False,
        **kwargs: Any,
    ) -> None:
        # with HEIC left out, telephones that take it send a JPEG of it
        keys = {"accept": "image/jpeg,image/png,image/webp"}
        if camera:
            keys["capture"] = "environment"
        super().__init__(label, list(validators) or [Optional()], render_kw=keys, **kwargs)


class MaxLength:
    """Refuse a text that is longer than the field takes."""

    def __init__(self, longest: int) -> None:
        self.longest = longest

    def __call__(self, _form: Any, field: Field) -> None:
        if field.data and len(str(field.data)) > self.longest:
            raise StopValidation(_l("Use at most %(longest)s characters.", longest=self.longest))


def offered_by(field: Any) -> set[str]:
    """Return the values that a field of choices offers."""
    return {str(choice.value) for choice in field.iter_choices()}


def pairs(choices: type[Enum] | Choices | Callable[[], Choices]) -> Any:
    """Return value and label of each choice; an enum's label is its title."""
    if isinstance(choices, type) and issubclass(choices, Enum):
        members = list(choices)
        return lambda: [SelectChoice(str(one.value), label(one)) for one in members]
    if callable(choices):
        return choices
    return [SelectChoice(value, words) for value, words in choices]


def cut(text: Any, most: int) -> Any:
    """Return at most so many characters of a text; anything else as it is."""
    return text[:most] if isinstance(text, str) else text


def _strip(text: Any) -> Any:
    return text.strip() if isinstance(text, str) else text
