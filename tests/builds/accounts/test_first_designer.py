"""The first account of an installation, made at the command line."""

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from builds.accounts.models import Person

pytestmark = pytest.mark.django_db


def test_without_a_terminal_it_says_where_the_password_goes(monkeypatch):
    def nobody_there(_prompt):
        raise EOFError

    monkeypatch.delenv("DESIGNER_PASSWORD", raising=False)
    monkeypatch.setattr("getpass.getpass", nobody_there)
    with pytest.raises(CommandError, match="DESIGNER_PASSWORD"):
        call_command("first_designer", "Your name")
    assert not Person.objects.exists()
