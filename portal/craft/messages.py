"""Messages: what is to be said, before anybody has put it into words.

A `Message` is an English template and its values. Rules hand it on as it is; `portal.render` makes
words of it where somebody reads it, in that reader's language, units and zone. Rules never build
sentences by gluing strings: a glued sentence can't be translated.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, NoReturn


class Message:
    """A template (`msgid`, with `{name}` placeholders) and its values.

    A message about `values["count"]` things has a second template for several, `many`. A value is
    a word of the trade (an enum member), a sum, a measure, a day, a number, a name that somebody
    typed, another message, or several of these in a row.
    """

    __slots__ = ("many", "msgid", "values")
    msgid: str
    values: Mapping[str, Any]
    many: str
    # how one is kept as JSON and read again: `message_json` says it
    written_by: ClassVar[Callable[["Message"], Any]]
    read_by: ClassVar[Callable[[Any], "Message"]]

    def __init__(self, msgid: str, /, **values: Any) -> None:
        self._set(msgid, "", values)

    @classmethod
    def counted(cls, msgid: str, many: str, values: Mapping[str, Any]) -> "Message":
        """Return the message with both of its templates."""
        message = cls.__new__(cls)
        message._set(msgid, many, values)  # its own
        return message

    def _set(self, msgid: str, many: str, values: Mapping[str, Any]) -> None:
        object.__setattr__(self, "msgid", msgid)
        object.__setattr__(self, "many", many)
        object.__setattr__(self, "values", values)

    def __setattr__(self, name: str, value: Any) -> NoReturn:
        """Refuse: a message never changes."""
        msg = f"a message can't change: {name} = {value!r}"
        raise AttributeError(msg)

    def __eq__(self, other: object) -> bool:
        """Whether both say the same."""
        if not isinstance(other, Message):
            return NotImplemented
        ours, theirs = ((one.msgid, one.many, one.values) for one in (self, other))
        return ours == theirs

    def __hash__(self) -> int:
        """Hash by the templates."""
        return hash((self.msgid, self.many))

    def __repr__(self) -> str:
        """Return how it is written in a rule."""
        values = "".join(f", {name}={value!r}" for name, value in self.values.items())
        return f"Message({self.msgid!r}{values})"

    def __str__(self) -> NoReturn:
        """Refuse: who reads it is not known here."""
        msg = f"a message has no words of its own; render(message, reader) makes them: {self!r}"
        raise TypeError(msg)

    def __format__(self, _spec: str, /) -> NoReturn:
        """Refuse to be glued into a text."""
        self.__str__()

    def __reduce__(self) -> tuple[Any, tuple[str, str, Mapping[str, Any]]]:
        """Survive copying and pickling."""
        return (Message.counted, (self.msgid, self.many, dict(self.values)))

    @classmethod
    def __get_pydantic_core_schema__(cls, _source: Any, handler: Any) -> Any:
        """Say how the schema reads and writes one: as JSON."""
        from pydantic import PlainSerializer, PlainValidator  # noqa: PLC0415  # only where one is read

        read = PlainValidator(
            lambda stored: stored if isinstance(stored, cls) else cls.read_by(stored)
        )
        return handler.generate_schema(Annotated[Any, read, PlainSerializer(cls.written_by)])

    def template(self, one: Callable[[str], str], several: Callable[[str, str, int], str]) -> str:
        """Return the template in another language, by its `gettext` and its `ngettext`."""
        if self.many:
            return several(self.msgid, self.many, int(self.values["count"]))
        return one(self.msgid) if self.msgid else ""


@dataclass(frozen=True, slots=True)
class Plural:
    """A sentence about one thing, and the same about several (`{count}`)."""

    one: str
    many: str

    def of(self, count: int, **values: Any) -> Message:
        """Return the sentence about `count` things."""
        return Message.counted(self.one, self.many, {"count": count, **values})


@dataclass(frozen=True, slots=True)
class Sentences:
    """Whole sentences that stand one after another."""

    messages: tuple[Message, ...]


def joined(messages: Iterable[Message]) -> Message:
    """Return several whole sentences as one message."""
    found = tuple(messages)
    return found[0] if len(found) == 1 else Message("{sentences}", sentences=Sentences(found))


@dataclass(frozen=True, slots=True)
class Phone:
    """A telephone number (E.164) within a sentence, written as people read it out."""

    number: str


class CraftError(ValueError):
    """The trade's own refusal of an input, as a message that a customer can act on.

    `key` names the field (`sets[0].count`), where one is to add_error. Its text is for logs alone.
    """

    def __init__(self, sentence: Message, *, key: str = "") -> None:
        super().__init__(repr(sentence))
        self.sentence = sentence
        self.key = key
