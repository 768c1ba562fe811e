"""Our own fields: they keep what was typed, know nought from nothing, and refuse in plain words."""

from decimal import Decimal

import pytest
from werkzeug.datastructures import MultiDict

from portal.craft.parts import Gloss
from portal.web.kit.forms import (
    AreaField,
    CheckboxField,
    CountField,
    MailField,
    MeasureField,
    MultiCheckboxField,
    OnceForm,
    PageForm,
    RadioChoiceField,
    Required,
    SelectChoiceField,
    TelField,
    TextField,
)
from portal.web.kit.typed_text import ReadField, Reads


class Sample(PageForm):
    class Meta:
        csrf = False

    name = TextField("Name", [Required("Enter your name.")], longest=10)
    count = CountField("Count", [Required("How many?")], low=0, high=40)
    length = MeasureField("Length", low=Decimal(1), high=Decimal(5000))
    gloss = RadioChoiceField("Gloss", choices=Gloss)
    pick = SelectChoiceField("Pick", choices=[("a", "A"), ("b", "B")])
    some = MultiCheckboxField("Some", choices=[("a", "A"), ("b", "B")])
    sure = CheckboxField("Sure")
    mail = MailField("Mail")
    tel = TelField("Tel")


@pytest.fixture(autouse=True)
def asking(app):
    with app.test_request_context("/", method="POST"):
        yield


def sent(**values) -> Sample:
    form = Sample(MultiDict({"name": "Ann", "count": "4"} | values))
    form.good = form.validate()
    return form


def test_white_space_around_a_line_is_not_kept() -> None:
    assert sent(name="  Ann ").name.data == "Ann"


def test_nought_is_an_answer_and_nothing_is_not() -> None:
    assert sent(count="0").good
    assert sent(count="").errors["count"] == ["How many?"]
    assert sent(name=" ").errors["name"] == ["Enter your name."]


@pytest.mark.parametrize(
    "typed", ["4o", "-1", "41", "4,000", "4.0", "four", "٤٢٠", "9" * 12, "1e1"]
)
def test_a_count_that_is_none_keeps_its_text_and_tells_the_limits(typed) -> None:
    form = sent(count=typed)
    assert "whole number from 0 to 40" in str(form.errors["count"][0])
    assert len(form.errors["count"]) == 1
    assert f'value="{typed}"' in form.count()


def test_a_measure_takes_a_comma_for_a_point() -> None:
    assert sent(length="12,5").length.data == Decimal("12.5")
    assert "12,5" in sent(length="12,5").length()


@pytest.mark.parametrize("typed", ["0", "5001", "NaN", "Infinity", "1,2,3", "x", "٤٢"])
def test_a_measure_that_is_none_is_refused(typed) -> None:
    assert "number from 1 to 5000" in str(sent(length=typed).errors["length"][0])


@pytest.mark.parametrize("field", ["gloss", "pick", "some"])
def test_a_value_that_was_not_offered_is_refused(field) -> None:
    assert field in sent(**{field: "planted"}).errors


def test_values_that_were_offered_are_taken() -> None:
    form = sent(gloss="satin", pick="b", some="a", sure="y")
    assert form.good
    assert (form.gloss.data, form.pick.data, form.some.data, form.sure.data) == (
        "satin", "b", ["a"], True,
    )  # fmt: skip


def test_a_text_longer_than_the_page_allows_is_refused_by_the_server_too() -> None:
    assert "10 characters" in str(sent(name="x" * 11).errors["name"][0])


@pytest.mark.parametrize("field", ["name", "count", "length", "mail", "tel", "note", "read"])
def test_of_a_field_that_is_far_too_long_a_part_is_shown_again(field) -> None:
    class Long(Sample):
        name = TextField("Name", [Required("No."), Reads(_never)], longest=10)
        note = AreaField("Note")
        read = ReadField("Read", reader=_never)

    form = Long(MultiDict({"name": "Ann", "count": "4", field: "7" * 100_000}))
    assert not form.validate()
    shown = form[field]()
    assert "7" * 10 in shown
    assert len(shown) < 2_000


def _never(text: str) -> str:
    raise ValueError("We can't read this.")


def test_each_field_brings_the_right_keyboard_and_memory() -> None:
    form = sent()
    assert 'inputmode="numeric"' in form.count()
    assert 'inputmode="decimal"' in form.length()
    assert 'type="email"' in form.mail()
    assert 'autocomplete="email"' in form.mail()
    assert 'type="tel"' in form.tel()
    assert 'type="number"' not in form.count() + form.length()


def test_a_refusal_of_the_orders_stands_beside_its_field_or_on_the_form() -> None:
    form = sent()
    form.add_error("name", "Taken.")
    form.add_error("nowhere", "Gone.")
    assert form.name.errors == ["Taken."]
    assert form.form_errors == ["Gone."]


def test_a_page_drawn_twice_has_two_once_tokens_and_a_page_shown_again_keeps_its_own() -> None:
    class Final(OnceForm):
        class Meta:
            csrf = False

    one, two = Final(formdata=None), Final(formdata=None)
    assert one.once.data != two.once.data
    assert len(one.once.data) == 32
    again = Final(MultiDict({"once": one.once.data}))
    assert again.once.data == one.once.data
