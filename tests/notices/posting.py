"""What the tests of the outbox share: letters to queue, and a real mail server on this machine."""

import socket
import ssl
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult

from portal.notices.letters import ResumeLink
from portal.notices.outbox import queue
from portal.notices.sender import Sender
from portal.store.letters import Letter
from tests.conftest import chance

SENDER = Sender("Fennholt", ("4 Kiln Lane",), "+441632960471", "works@example.com", "Europe/London")


def resume(at: datetime) -> ResumeLink:
    return ResumeLink(sender=SENDER, locale="en", link="https://example.com/r/X", until=at)


def put(unit, count: int = 1, *, to: str = "robin@example.com", start: int = 0) -> None:
    """Queue letters, each with a cause of its own."""
    bytes_ = chance(start + 1)

    def work(session) -> None:
        for number in range(start, start + count):
            queue(
                session,
                resume(unit.now()),
                job_id=None,
                cause=f"draft:{number}",
                to=to,
                at=unit.now(),
                random_bytes=bytes_,
            )

    unit.write(work)


def rows(unit) -> list[Letter]:
    with unit.read() as session:
        return list(session.scalars(sa.select(Letter).order_by(Letter.id)))


def states(unit) -> list[str]:
    return [row.state for row in rows(unit)]


@dataclass
class Post:
    """A mail server's hands: takes everything, or answers as it is told."""

    got: list[EmailMessage] = field(default_factory=list)
    answer: str = ""

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:  # noqa: N802  # the server's name for it
        if self.answer:
            return self.answer
        message = message_from_bytes(envelope.content, policy=policy.default)
        assert isinstance(message, EmailMessage)
        self.got.append(message)
        return "250 taken"

    async def handle_RCPT(  # noqa: N802  # the server's name for it
        self, _server: Any, _session: Any, envelope: Any, address: str, _options: Any
    ) -> str:
        if address.startswith("nobody@"):
            return "550 no such box"
        envelope.rcpt_tos.append(address)
        return "250 yes"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def mail_server(post: Post, **more: Any) -> Iterator[int]:
    """Run a mail server; yields its port."""
    port = free_port()
    controller = Controller(post, hostname="127.0.0.1", port=port, **more)
    controller.start()
    try:
        yield port
    finally:
        controller.stop()


def certificate(folder: Path) -> tuple[ssl.SSLContext, ssl.SSLContext]:
    """Make a certificate for this machine; return the server's and a trusting client's context."""
    key, cert = folder / "key.pem", folder / "cert.pem"
    call = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2"]
    call += ["-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost"]
    call += ["-keyout", str(key), "-out", str(cert)]
    subprocess.run(call, check=True, capture_output=True)
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(cert, key)
    return server, ssl.create_default_context(cafile=str(cert))


def only_robin(
    _server: Any, _session: Any, _envelope: Any, _mechanism: str, data: Any
) -> AuthResult:
    good = data.login == b"robin" and data.password == b"secret phrase"
    return AuthResult(success=good, handled=False)
