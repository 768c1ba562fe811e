"""A verb with a token counts once, and gives its first answer again."""

import pytest

from portal.orders.kernel.errors import Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.unit import transactional
from portal.store.tables import IdempotencyKey, Tag

pytestmark = pytest.mark.postgres

TOKEN = "a-token-of-a-form"


def press(unit, token, answer, verb="book"):
    runs = []

    @transactional
    @idempotent(verb)
    def work(unit, session, answer, *, once_token):
        runs.append(1)
        return answer

    return work(unit, answer, once_token=token), len(runs)


def test_a_button_pressed_twice_gets_the_first_answer(unit) -> None:
    assert press(unit, TOKEN, {"code": "A"}) == ({"code": "A"}, 1)
    assert press(unit, TOKEN, {"code": "B"}) == ({"code": "A"}, 0)


def test_another_form_is_another_press(unit) -> None:
    press(unit, TOKEN, {"code": "A"})
    assert press(unit, TOKEN + "2", {"code": "B"}) == ({"code": "B"}, 1)


@pytest.mark.parametrize("token", ["", "short", "x" * 41])
def test_a_form_without_its_token_is_refused(unit, token) -> None:
    with pytest.raises(Refused):
        press(unit, token, {})


def test_a_token_serves_one_verb_only(unit) -> None:
    press(unit, TOKEN, {"code": "A"})
    with pytest.raises(Refused):
        press(unit, TOKEN, {}, verb="hand_back")


def test_a_button_whose_verb_failed_may_be_pressed_again(unit) -> None:
    @transactional
    @idempotent("book")
    def fails(unit, session, *, once_token):
        raise Refused("no")

    with pytest.raises(Refused):
        fails(unit, once_token=TOKEN)
    with unit.read() as session:
        assert session.get(IdempotencyKey, TOKEN) is None
    assert press(unit, TOKEN, {"code": "A"}) == ({"code": "A"}, 1)


def test_one_value_is_stored_by_the_name_of_the_answer(unit) -> None:
    values = iter([7, 8])

    @transactional
    @idempotent("raise_finding", answer="finding")
    def number(unit, session, *, once_token):
        return next(values)

    assert [number(unit, once_token=TOKEN), number(unit, once_token=TOKEN)] == [7, 7]
    with unit.read() as session:
        assert session.get_one(IdempotencyKey, TOKEN).answer == {"finding": 7}


def test_a_verb_without_an_answer_gives_none_both_times(unit) -> None:
    runs = []

    @transactional
    @idempotent("pay")
    def pay(unit, session, *, once_token):
        runs.append(1)

    assert [pay(unit, once_token=TOKEN), pay(unit, once_token=TOKEN)] == [None, None]
    assert runs == [1]


def test_the_key_and_the_work_are_written_together(unit) -> None:
    """The verb fails after the key was written: a part of a verb can be idempotent too."""

    @idempotent("book")
    def part(unit, session, *, once_token):
        session.add(Tag(number="T-900"))

    @transactional
    def whole(unit, session):
        part(unit, session, once_token=TOKEN)
        raise Refused("no")

    with pytest.raises(Refused):
        whole(unit)
    with unit.read() as session:
        assert session.get(IdempotencyKey, TOKEN) is None
        assert session.get(Tag, "T-900") is None


def test_a_verb_that_takes_no_token_can_not_be_idempotent() -> None:
    def verb(unit, session):
        """Take no token."""

    with pytest.raises(TypeError, match="verb takes no once_token"):
        idempotent("book")(verb)
