"""A bad line between the phone and the site: a proxy that cuts connections at a moment of one's choosing."""

import contextlib
import socket
import threading
import time
from collections import Counter

BEFORE, SENT, MIDDLE = "before the send", "after the send, before the answer", "in the middle of the answer"
CUTS = (BEFORE, SENT, MIDDLE)
# What the scripts ask for by themselves, between what a person does.
ASKED = (b"/connected/", b"/notebook/", b"/copy/", b"/entries/")


class Line:
    """Listens on a port of its own and passes everything to `target`. `plan()` says for each post how it is cut, or
    which status something on the way answers it with, or None. Cuts are counted; `down` lets nothing through; `slow`
    is the path of a page and the seconds it is held up, `torn` that of a file which is cut off in the middle; `asking`
    says the same as `plan` for what the scripts ask by themselves, counted apart."""

    def __init__(self, target: tuple[str, int], plan=lambda: None):
        self.target, self.plan, self.down, self.cuts = target, plan, False, Counter()
        self.asking, self.unheard = (lambda: None), Counter()
        self.slow, self.torn = ("/none/", 0.0), "/none/"
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.port = self.listener.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    @property
    def address(self) -> str:
        return f"http://localhost:{self.port}"

    def close(self):
        self.listener.close()

    def _accept(self):
        while True:
            try:
                phone, _where = self.listener.accept()
            except OSError:
                return
            threading.Thread(target=self._carry, args=(phone,), daemon=True).start()

    def _carry(self, phone):
        """One request a connection: the head tells a post, whose fate is then decided."""
        try:
            with phone:
                request = _whole_request(phone)
                if not request or self.down:
                    return
                path, seconds = self.slow
                if request.startswith(f"GET {path} ".encode()):
                    time.sleep(seconds)
                cut = self._cut_of(request)
                if isinstance(cut, int):
                    phone.sendall(b"HTTP/1.1 %d No\r\nContent-Type: text/html\r\nConnection: close\r\n\r\nNo" % cut)
                if cut == BEFORE or isinstance(cut, int):
                    return
                self._pass_on(phone, request, cut)
        except OSError:
            return

    def _cut_of(self, request):
        if request.startswith(b"GET ") and request.split(b" ", 2)[1].endswith(ASKED):
            cut = self.asking()
            self.unheard.update([cut] if cut else [])
            return cut
        cut = self.plan() if request.startswith(b"POST ") else None
        if request.startswith(f"GET {self.torn} ".encode()):
            cut = MIDDLE
        if cut:
            self.cuts[cut] += 1
        return cut

    def _pass_on(self, phone, request, cut):
        with socket.create_connection(self.target, timeout=60) as site:
            site.sendall(request)
            first = True
            while part := site.recv(65536):
                if cut == SENT:  # the site has done its work; nothing of it comes back
                    while site.recv(65536):
                        pass
                    return
                if cut == MIDDLE and first:
                    phone.sendall(part[: len(part) // 2])
                    while site.recv(65536):
                        pass
                    return
                phone.sendall(part)
                first = False


def _whole_request(phone) -> bytes:
    """The request, asking the site to close the connection after its answer."""
    data = b""
    while b"\r\n\r\n" not in data:
        part = phone.recv(65536)
        if not part:
            return b""
        data += part
    head, _, body = data.partition(b"\r\n\r\n")
    lines = [line for line in head.split(b"\r\n") if not line.lower().startswith(b"connection:")]
    length = next((int(x.split(b":")[1]) for x in lines if x.lower().startswith(b"content-length:")), 0)
    while len(body) < length:
        part = phone.recv(65536)
        if not part:
            return b""
        body += part
    return b"\r\n".join([*lines, b"Connection: close"]) + b"\r\n\r\n" + body


@contextlib.contextmanager
def bad_line(host: str, port: int, plan=lambda: None):
    line = Line((host, port), plan)
    try:
        yield line
    finally:
        line.close()
