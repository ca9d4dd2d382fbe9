"""Calls of our own functions in one post of a reading on a tiny guide: python -m tests.speed.calls [--list]

Two stages of a step and a check each; the reading is posted as the page does, by htmx, and answered with the check's
fragment. Counted are the calls of functions defined in builds/ and checks/ (resumed generators count again), the files
they are in, and how often the work goes over from one file to another. What lies below the ORM, the database's own
adapter, is left out as Django's is.
"""

import os
import sys
import tempfile
from collections import Counter
from pathlib import Path
from uuid import uuid4

if "django.conf" not in sys.modules:  # a test that counts has its own settings
    os.environ["DATA_DIR"] = tempfile.mkdtemp()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")
ROOT = Path(__file__).resolve().parents[2]
OURS = tuple(str(ROOT / folder) + os.sep for folder in ("builds", "checks"))
ADAPTER = str(ROOT / "builds" / "operations" / "sqlite") + os.sep
GOAL = 200


class Counting:
    """Counts calls while it is entered."""

    def __init__(self):
        self.calls, self.changes, self.at = Counter(), 0, ""

    def __enter__(self):
        sys.setprofile(self._seen)
        return self

    def __exit__(self, *_error):
        sys.setprofile(None)

    def _seen(self, frame, event, _arg):
        name = frame.f_code.co_filename
        if event == "call" and name.startswith(OURS) and not name.startswith(ADAPTER):
            self.calls[name[len(str(ROOT)) + 1 :], frame.f_code.co_name] += 1
            self.changes += name != self.at
            self.at = name

    @property
    def total(self) -> int:
        return sum(self.calls.values())

    @property
    def files(self) -> set[str]:
        return {file for file, _function in self.calls}


def count_post(typed="300.0", *, htmx=True) -> Counting:
    """One post on a fresh build; pages and templates have been met before."""
    from django.test import Client
    from django.urls import reverse

    from tests import factories

    revision = factories.make_revision(stages=2, checks=1, steps=1)
    build = factories.make_build(revision=revision)
    client = Client()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])

    def post():
        headers = {"HX-Request": "true"} if htmx else {}
        answer = client.post(address, {"typed": typed, "unit": "V", "entry_key": str(uuid4())}, headers=headers)
        assert answer.status_code == (200 if htmx else 302), answer.status_code

    post()
    with Counting() as counting:
        post()
    return counting


def main():
    import django

    django.setup()
    from django.core.management import call_command
    from django.test.utils import override_settings

    call_command("migrate", verbosity=0)
    with override_settings(ALLOWED_HOSTS=["testserver"]):
        for htmx in (True, False):
            counted = count_post(htmx=htmx)
            how = "by htmx" if htmx else "plain"
            print(
                f"a post {how}: {counted.total} calls of our own functions (goal {GOAL}) in {len(counted.files)} "
                f"files, {counted.changes} changes of file"
            )
            if "--files" in sys.argv:
                files = Counter()
                for (file, _function), n in counted.calls.items():
                    files[file] += n
                for file, n in files.most_common():
                    print(f"{n:5} {file}")
            if "--list" in sys.argv:
                for (file, function), n in counted.calls.most_common():
                    print(f"{n:5} {file} {function}")


if __name__ == "__main__":
    main()
