"""A mail server for tests: speaks just enough SMTP (RFC 5321) and misbehaves on request."""

from __future__ import annotations

import socketserver
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


class PostOffice(socketserver.ThreadingTCPServer):
    """``manner``: takes, refuses (550 to the address), busy (451 to the address), breaks_off (after the text)."""

    allow_reuse_address = True
    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Counter)
        self.manner = "takes"
        self.letters: list[str] = []

    @property
    def port(self) -> int:
        return int(self.server_address[1])


class _Counter(socketserver.StreamRequestHandler):
    server: PostOffice

    def handle(self) -> None:
        self._say("220 post office")
        while line := self.rfile.readline().decode().strip():
            verb = line.upper().split(" ")[0].split(":")[0]
            if verb == "QUIT":
                self._say("221 bye")
                return
            if verb == "DATA":
                self._say("354 go on")
                self.server.letters.append(self._text())
                if self.server.manner == "breaks_off":
                    return
                self._say("250 taken")
            elif verb == "RCPT" and self.server.manner == "refuses":
                self._say("550 no such reader")
            elif verb == "RCPT" and self.server.manner == "busy":
                self._say("451 try later")
            else:
                self._say("250 fine")

    def _text(self) -> str:
        lines = []
        while (line := self.rfile.readline().decode()) not in (".\r\n", ""):
            lines.append(line)
        return "".join(lines)

    def _say(self, words: str) -> None:
        self.wfile.write(f"{words}\r\n".encode())


@contextmanager
def open_post_office(settings: Any) -> Iterator[PostOffice]:
    """A running server that Django's mail goes to."""
    with PostOffice() as office:
        thread = threading.Thread(target=office.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
        thread.start()
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", office.port
        try:
            yield office
        finally:
            office.shutdown()
            thread.join()
