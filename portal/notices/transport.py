"""Transports of letters: a mail server, the console, or a list in memory."""

import smtplib
import ssl
import sys
from dataclasses import dataclass, field
from email.message import EmailMessage
from typing import Protocol, TextIO
from urllib.parse import SplitResult, unquote, urlsplit

from portal.craft.messages import Message

TIMEOUT_S = 30.0
LONGEST_WHY = 200
# RFC 5321, section 4.2.3: it closes the connection, or has no room left
SERVER_UNWELL = frozenset({421, 452})
PORTS = {"smtp": 25, "smtp+starttls": 587, "smtps": 465}


class BadWire(ValueError):
    """An invalid mail address of the settings."""

    def __init__(self, sentence: Message) -> None:
        super().__init__(repr(sentence))
        self.sentence = sentence


class Unsent(Exception):
    """A letter that was not sent.

    `forever` when trying again can't help; `down` when no other letter would be sent either.
    """

    def __init__(self, why: Message, *, forever: bool = False, down: bool = False) -> None:
        super().__init__(repr(why))
        self.why = why
        self.forever = forever
        self.down = down


class Wire(Protocol):
    """A transport of messages. `open` is false where letters have to wait."""

    open: bool

    def send(self, message: EmailMessage) -> None:
        """Send one message; raise Unsent."""


@dataclass
class SmtpWire:
    """A mail server. `security` is "", "starttls" (then it must succeed) or "tls"."""

    host: str
    port: int
    security: str = ""
    user: str = ""
    password: str = field(default="", repr=False)
    timeout_s: float = TIMEOUT_S
    context: ssl.SSLContext | None = None
    open: bool = True

    def send(self, message: EmailMessage) -> None:
        """Send one message on a connection of its own; raise Unsent."""
        try:
            with self._connected() as server:
                if self.user:
                    server.login(self.user, self.password)
                server.send_message(message)
        except smtplib.SMTPRecipientsRefused as refusal:
            codes = sorted({code for code, _ in refusal.recipients.values()})
            raise Unsent(_refused(codes), forever=min(codes) >= 500) from None
        except smtplib.SMTPAuthenticationError as refusal:
            # a wrong password is mended in the settings; the letters wait for it
            code = refusal.smtp_code
            why = Message("The mail server refused our password ({code}).", code=code)
            raise Unsent(why, down=True) from None
        except (smtplib.SMTPSenderRefused, smtplib.SMTPConnectError, smtplib.SMTPHeloError) as no:
            # our own address or our sign-in: it is the same for every letter
            raise Unsent(_answered(no.smtp_code), down=True) from None
        except smtplib.SMTPResponseException as refusal:
            if refusal.smtp_code in SERVER_UNWELL:
                raise Unsent(_answered(refusal.smtp_code), down=True) from None
            forever = refusal.smtp_code >= 550
            raise Unsent(_answered(refusal.smtp_code), forever=forever) from None
        except (smtplib.SMTPException, OSError) as wrong:
            raise Unsent(_not_reached(wrong), down=True) from None

    def _connected(self) -> smtplib.SMTP:
        context = self.context or ssl.create_default_context()
        if self.security == "tls":
            return smtplib.SMTP_SSL(self.host, self.port, timeout=self.timeout_s, context=context)
        server = smtplib.SMTP(self.host, self.port, timeout=self.timeout_s)
        if self.security == "starttls":
            try:
                server.starttls(context=context)
            except Exception:
                server.close()
                raise
        return server


def _refused(codes: list[int]) -> Message:
    return Message("The mail server refused the address ({code}).", code=codes[0])


def _answered(code: int) -> Message:
    return Message("The mail server did not take the letter ({code}).", code=code)


def _not_reached(wrong: Exception) -> Message:
    why = f"{type(wrong).__name__}: {wrong}"[:LONGEST_WHY]
    return Message("We can't reach the mail server ({why}).", why=why)


@dataclass
class ConsoleWire:
    """Print each letter in one line; for a demo without a mail server."""

    stream: TextIO = field(default_factory=lambda: sys.stderr)
    open: bool = True

    def send(self, message: EmailMessage) -> None:
        # a console is kept by whatever runs the portal: nobody's address belongs there
        print(f"letter: {message['Subject']}", file=self.stream, flush=True)


@dataclass
class MemoryWire:
    """Keep what was sent; for tests."""

    sent: list[EmailMessage] = field(default_factory=list)
    open: bool = True

    def send(self, message: EmailMessage) -> None:
        self.sent.append(message)


@dataclass
class ClosedWire:
    """No mail server is set: letters wait in the outbox, where the office can read them."""

    open: bool = False

    def send(self, message: EmailMessage) -> None:
        raise Unsent(Message("No mail server is set."), down=True)


def wire_for(url: str, *, mail_from: str = "") -> Wire:
    """Return the transport for an address of the settings.

    `smtp://`, `smtp+starttls://` or `smtps://` with `user:password@host:port`; `console:`; empty
    where there is none. Raise BadWire.
    """
    if not url:
        return ClosedWire()
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError:
        raise BadWire(
            Message("The mail server's address has a port that is not a number.")
        ) from None
    if parts.scheme == "console":
        return ConsoleWire()
    if parts.scheme not in PORTS or not parts.hostname:
        known = ", ".join([*(f"{name}://host" for name in PORTS), "console:"])
        raise BadWire(
            Message("The mail server's address must begin with one of: {known}", known=known)
        )
    if mail_from and "@" not in mail_from:
        raise BadWire(Message("The address that letters come from needs an @."))
    return _smtp(parts, port or PORTS[parts.scheme])


def _smtp(parts: SplitResult, port: int) -> SmtpWire:
    security = {"smtp": "", "smtp+starttls": "starttls", "smtps": "tls"}[parts.scheme]
    return SmtpWire(
        host=parts.hostname or "",
        port=port,
        security=security,
        user=unquote(parts.username or ""),
        password=unquote(parts.password or ""),
    )
