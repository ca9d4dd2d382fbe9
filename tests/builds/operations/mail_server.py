"""A mail server for tests: SMTP with STARTTLS (RFC 3207) and a password (RFC 4954), which keeps what it is given."""

import base64
import socketserver
import ssl
import subprocess
from contextlib import contextmanager
from pathlib import Path
from threading import Thread

ACCEPTED, READY, REFUSED = "250 ok", "220 ready", "530 STARTTLS first"


def certificate(folder: Path, name: str) -> tuple[Path, Path]:
    """(certificate, key) of a host, signed by itself."""
    pair = folder / f"{name}.pem", folder / f"{name}.key"
    command = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", f"/CN={name}"]
    command += ["-addext", f"subjectAltName=DNS:{name},IP:127.0.0.1", "-out", str(pair[0]), "-keyout", str(pair[1])]
    subprocess.run(command, check=True, capture_output=True)
    return pair


class Session(socketserver.StreamRequestHandler):
    def handle(self):
        self.is_secret, self.login = False, ""
        self._say(READY)
        while line := self.rfile.readline():
            if not self._answer(line.decode().strip()):
                return

    def _say(self, text: str) -> None:
        self.wfile.write(f"{text}\r\n".encode())

    def _answer(self, line: str) -> bool:
        word = line.partition(" ")[0].upper()
        if word == "EHLO":
            self._say(f"250-here\r\n250 {'AUTH PLAIN' if self.is_secret else 'STARTTLS'}")
        elif word == "STARTTLS":
            return self._start_tls()
        elif not self.is_secret:
            self._say(REFUSED)
        elif word == "AUTH":
            self.login = base64.b64decode(line.split()[-1]).decode()
            self._say("235 welcome")
        elif word == "DATA":
            self._say("354 go on")
            self.server.letters.append((self.login, b"".join(iter(self.rfile.readline, b".\r\n")).decode()))
            self._say(ACCEPTED)
        else:
            self._say(ACCEPTED)
        return word != "QUIT"

    def _start_tls(self) -> bool:
        self._say(READY)
        try:
            self.request = self.server.context.wrap_socket(self.request, server_side=True)
        except (ssl.SSLError, OSError):  # the caller does not trust us
            return False
        self.rfile, self.wfile = self.request.makefile("rb"), self.request.makefile("wb", buffering=0)
        self.is_secret = True
        return True


@contextmanager
def mail_server(folder: Path):
    """(port, path of its certificate, list of (login, letter))."""
    pem, key = certificate(folder, "localhost")
    with socketserver.ThreadingTCPServer(("127.0.0.1", 0), Session) as server:
        server.daemon_threads, server.letters = True, []
        server.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        server.context.load_cert_chain(pem, key)
        Thread(target=server.serve_forever, daemon=True).start()
        yield server.server_address[1], pem, server.letters
        server.shutdown()
