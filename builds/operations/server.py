"""The web server: waitress, whose one loop holds all connections and hands a thread only what has arrived whole, so
that slow senders take up no thread. Bodies that are too large are refused by their head, before a byte is kept, and no
one address can have all the connections.
"""

import logging
import os
import resource
import signal
import socket
import sys
import time

from django.conf import settings
from waitress import create_server
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.utilities import RequestEntityTooLarge

from builds.accounts.client_address import build_network, is_trusted
from builds.accounts.seen import is_known
from builds.operations.body_limits import ANONYMOUS
from builds.operations.checkpoints import keep_log_open
from builds.operations.memory import give_back_freed_memory

MOST = settings.BODY_MAX_BYTES
TOO_MUCH = 10**14  # the length that a refused body is said to have: above every limit of the site
READ_ON, READ_ON_BYTES = 30.0, 2**16  # s at most, and how much at a time
CONNECTIONS = 2000  # of one process
OF_ONE_ADDRESS = 400  # a club's phones behind one address have some six each
FILES = 8192  # that one process may open: connections, bodies on disk, the database
# s that a thread computes while others wait to go on. Whoever holds the writers' turn waits so long after each of its
# statements. Beside seven computing threads the slowest 5 % of turns of six INSERTs took 130 to 180 ms at Python's own
# 0.005, 30 to 40 at 0.001 and 10 to 20 at 0.0005; computing lost 5 to 9 % at 0.001 and 12 to 15 % at 0.0005.
SWITCHING = 0.001
log = logging.getLogger(__name__)


class Parser(HTTPRequestParser):
    """Refuses by its head what would be refused anyway: the site then answers with a page of its own, without the
    body, of which nothing more is kept."""

    is_refused = False

    def parse_header(self, header_plus):
        super().parse_header(header_plus)
        large = self.content_length > ANONYMOUS or self.chunked
        if self.content_length > MOST or (large and not is_known(self.headers.get("COOKIE", ""))):
            self._refuse()

    def received(self, data):
        taken = super().received(data)
        if isinstance(self.error, RequestEntityTooLarge):  # a body of no stated length has become too long
            self._refuse()
        if self.completed:  # nothing more is to come: whoever was told to go on would wait, and the server with them
            self.expect_continue = False
        return len(data) if self.is_refused else taken

    def _refuse(self) -> None:
        self.close()
        self.is_refused = self.completed = self.connection_close = True
        self.error = self.body_rcv = None
        self.expect_continue = self.chunked = False  # nobody is told to go on
        self.content_length = 0
        self.headers |= {"CONTENT_LENGTH": str(TOO_MUCH), "CONNECTION": "close"}


class Channel(HTTPChannel):
    """A connection. One whose body was refused is read on for a moment and thrown away: closed at once, it would be
    reset under the browser that still sends, which would then show its own page instead of the site's."""

    parser_class = Parser
    read_on_until = 0.0
    was_refused = False

    def __init__(self, server, sock, addr, adj, map=None):
        super().__init__(server, sock, addr, adj, map=map)
        self.will_close = is_one_too_many(addr[0], [other.addr[0] for other in server.active_channels.values()])

    def service(self):
        self.was_refused |= self.requests[0].is_refused
        super().service()

    def readable(self):
        return bool(self.read_on_until) or super().readable()

    def writable(self):
        return time.monotonic() > self.read_on_until if self.read_on_until else super().writable()

    def handle_read(self):
        if self.read_on_until:
            self._throw_away()
        else:
            super().handle_read()

    def _throw_away(self) -> None:
        try:
            is_over = not self.socket.recv(READ_ON_BYTES)
        except BlockingIOError:
            is_over = False
        except OSError:
            is_over = True
        if is_over:
            self.handle_close()

    def handle_close(self):
        if self.was_refused and self.connected and not self.read_on_until:
            self.read_on_until = time.monotonic() + READ_ON
            try:
                self.socket.shutdown(socket.SHUT_WR)
                return
            except OSError:
                pass
        super().handle_close()


def is_one_too_many(address: str, others: list[str]) -> bool:
    """Has this address all the connections that one may have, among the `others` and itself? A proxy of ours comes
    with everybody's."""
    if is_trusted(address):
        return False
    network = build_network(address)
    return sum(build_network(other) == network for other in others) > OF_ONE_ADDRESS


def most_connections() -> int:
    """How many a process may hold: open files are needed for the database, too. The system's usual 1,024 are raised as
    far as it lets us."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    limit = FILES if hard == resource.RLIM_INFINITY else min(FILES, hard)
    if soft != resource.RLIM_INFINITY and soft < limit:
        resource.setrlimit(resource.RLIMIT_NOFILE, (limit, hard))
        soft = limit
    return CONNECTIONS if soft == resource.RLIM_INFINITY else min(CONNECTIONS, soft // 2)


def serve(host: str, port: int, processes: int, threads: int) -> None:
    """Listen, and serve from several processes; this one keeps them running until it is told to end."""
    listening = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listening.bind((host, port))
    listening.listen(1024)
    _Processes(listening, processes, threads).run()


class _Processes:
    def __init__(self, listening: socket.socket, count: int, threads: int):
        self.listening, self.count, self.threads = listening, count, threads
        self.children: set[int] = set()
        self.ending = False

    def run(self) -> None:
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._end)
        while not self.ending:
            while len(self.children) < self.count:
                self.children.add(self._fork())
            self._reap()
            time.sleep(0.2)
        for pid in self.children:
            os.kill(pid, signal.SIGTERM)
        deadline = time.monotonic() + 15
        while self.children and time.monotonic() < deadline:
            self._reap()
            time.sleep(0.1)
        for pid in self.children:
            os.kill(pid, signal.SIGKILL)

    def _reap(self) -> None:
        for pid in list(self.children):
            if os.waitpid(pid, os.WNOHANG)[0]:
                self.children.discard(pid)

    def _end(self, *_signal) -> None:
        self.ending = True

    def _fork(self) -> int:
        pid = os.fork()
        if pid:
            return pid
        try:
            for number in (signal.SIGTERM, signal.SIGINT):
                signal.signal(number, lambda *_signal: sys.exit(0))
            _serve(self.listening, self.threads)
        except (SystemExit, KeyboardInterrupt):
            pass
        except BaseException:
            log.exception("a web process broke")
        finally:
            os._exit(0)


def _serve(listening: socket.socket, threads: int) -> None:
    from builds.wsgi import application

    give_back_freed_memory()
    sys.setswitchinterval(SWITCHING)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a full queue is seen in the times of the access log
    server = create_server(
        application,
        sockets=[listening],
        threads=threads,
        connection_limit=most_connections(),
        channel_timeout=60,
        max_request_body_size=MOST + 1,  # what is as long as this is too long
        max_request_header_size=32 * 1024,
        clear_untrusted_proxy_headers=False,  # client_address.py believes the proxies named in the settings only
        ident=None,
        asyncore_use_poll=True,  # select() ends at 1,024 connections
        cleanup_interval=10,
    )
    server.channel_class = Channel
    held = keep_log_open()  # noqa: F841 - as long as this process serves
    server.run()
