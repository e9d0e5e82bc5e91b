"""A mail server for tests that counts what it took and lets a test act at every step of a delivery (RFC 5321)."""

from __future__ import annotations

import email
import email.policy
import socketserver
import threading
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from email.message import EmailMessage

STEPS = ("connected", "sender", "reader", "data", "text", "taken", "quit")
"""Connected; MAIL said; RCPT said; DATA said; the whole text is here but not answered; 250 was said; QUIT was said."""


class MailServer(socketserver.ThreadingTCPServer):
    """``act(step)`` is called before the step is answered (``taken``: after).

    ``mails``: whose text came whole. A server may deliver them even if nobody hears its 250, so here they count.
    """

    allow_reuse_address = True
    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Talk)
        self.act: Callable[[str], None] = lambda step: None
        self.mails: list[EmailMessage] = []
        self.lock = threading.Lock()

    @property
    def port(self) -> int:
        return int(self.server_address[1])

    @property
    def settings(self) -> dict[str, str]:
        backend = "django.core.mail.backends.smtp.EmailBackend"
        return {"EMAIL_BACKEND": backend, "EMAIL_HOST": "127.0.0.1", "EMAIL_PORT": str(self.port)}

    def copies(self) -> Counter[str]:
        """How many copies of each mail were taken, by subject."""
        with self.lock:
            return Counter(str(mail["Subject"]) for mail in self.mails)

    def handle_error(self, request: object, client_address: object) -> None:
        """Whoever talks to this server may be killed in the middle of a word; that is what it is for."""


class _Talk(socketserver.StreamRequestHandler):
    server: MailServer

    def handle(self) -> None:
        self.server.act("connected")
        self._say("220 here")
        while line := self.rfile.readline().decode().strip():
            verb = line.upper().split(" ")[0].split(":")[0]
            if verb == "DATA":
                self.server.act("data")
                self._say("354 go on")
                if not self._take():
                    return
            elif verb == "QUIT":
                self.server.act("quit")
                self._say("221 bye")
                return
            else:
                if step := {"MAIL": "sender", "RCPT": "reader"}.get(verb):
                    self.server.act(step)
                self._say("250 fine")

    def _take(self) -> bool:
        lines = []
        while (line := self.rfile.readline()) != b".\r\n":
            if not line:
                return False  # broken off before its end: no mail
            lines.append(line[1:] if line.startswith(b".") else line)
        mail = email.message_from_bytes(b"".join(lines), policy=email.policy.default)
        with self.server.lock:
            self.server.mails.append(mail)
        self.server.act("text")
        self._say("250 taken")
        self.server.act("taken")
        return True

    def _say(self, words: str) -> None:
        self.wfile.write(f"{words}\r\n".encode())


@contextmanager
def mail_server() -> Iterator[MailServer]:
    with MailServer() as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
        thread.start()
        try:
            yield server
        finally:
            server.shutdown()
            thread.join()
