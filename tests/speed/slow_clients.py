"""Prints how long a page takes while 200 slow connections hold on, and what a large anonymous post leaves behind.

Against a server on this machine only: `python -m tests.speed.slow_clients 8765` for the port of `manage.py serve`.
"""

import http.client
import socket
import statistics
import sys
import time
from threading import Event, Thread

SLOW = 200
HOST = "127.0.0.1"


def hold(port: int, ended: Event, head: bytes) -> None:
    """One connection that sends a byte a second and never comes to an end."""
    with socket.create_connection((HOST, port)) as connection:
        connection.sendall(head)
        while not ended.wait(1):
            try:
                connection.sendall(b"x")
            except OSError:
                return


def page(port: int) -> float:
    began = time.perf_counter()
    connection = http.client.HTTPConnection(HOST, port, timeout=60)
    connection.request("GET", "/safety/")
    assert connection.getresponse().status == 200
    connection.close()
    return time.perf_counter() - began


def large_post(port: int, length: int) -> tuple[int, float]:
    """The answer to a post that says it is `length` bytes long, of which a part is sent."""
    began = time.perf_counter()
    with socket.create_connection((HOST, port), timeout=60) as connection:
        connection.sendall(f"POST /sign-in/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: {length}\r\n\r\n".encode())
        status = int(connection.recv(64).split()[1])
    return status, time.perf_counter() - began


def main(port: int) -> None:
    alone = [page(port) for _n in range(20)]
    print(f"alone: median {statistics.median(alone):.3f} s, worst {max(alone):.3f} s")
    heads = [
        b"GET /safety/ HTTP/1.1\r\nX-Slow: ",
        b"POST /sign-in/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 100000\r\n\r\n",
    ]
    ended = Event()
    threads = [Thread(target=hold, args=(port, ended, heads[n % 2]), daemon=True) for n in range(SLOW)]
    for thread in threads:
        thread.start()
    time.sleep(3)
    beside = [page(port) for _n in range(20)]
    print(f"beside {SLOW} slow connections: median {statistics.median(beside):.3f} s, worst {max(beside):.3f} s")
    ended.set()
    status, took = large_post(port, 300 * 2**20)
    print(f"an anonymous post of 300 MB: {status} after {took:.3f} s, before any of it is sent")


if __name__ == "__main__":
    main(int(sys.argv[1]))
