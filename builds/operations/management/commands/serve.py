"""manage.py serve: the web server of a real installation."""

from django.core.management.base import BaseCommand, CommandError

from builds.operations.server import serve


class Command(BaseCommand):
    help = "Serve the site. Slow connections stop nobody; put a proxy with TLS before it for the open net."

    def add_arguments(self, parser):
        parser.add_argument("--bind", default="127.0.0.1:8000", help="address:port")
        parser.add_argument("--processes", type=int, default=2)
        parser.add_argument("--threads", type=int, default=8, help="in each process")

    def handle(self, *, bind, processes, threads, **options):
        host, _colon, port = bind.rpartition(":")
        if not port.isascii() or not port.isdigit() or not host:
            raise CommandError(f"--bind is {bind!r}; it takes address:port, such as 127.0.0.1:8000.")
        serve(host.strip("[]"), int(port), processes, threads)
