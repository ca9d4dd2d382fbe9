"""manage.py serve: the web server of a real installation."""

from django.core.management.base import BaseCommand, CommandError

from builds.operations.server import serve


class Command(BaseCommand):
    help = "Serve the site. Slow connections block nobody. On the internet, put a TLS proxy in front of it."

    def add_arguments(self, parser):
        parser.add_argument("--bind", default="127.0.0.1:8000", help="address:port")
        parser.add_argument("--processes", type=int, default=2)
        parser.add_argument("--threads", type=int, default=8, help="in each process")

    def handle(self, *, bind, processes, threads, **options):
        host, _colon, port = bind.rpartition(":")
        if not port.isascii() or not port.isdigit() or not host:
            raise CommandError(f"--bind is {bind!r}. It must be address:port, such as 127.0.0.1:8000.")
        serve(host.strip("[]"), int(port), processes, threads)
