"""A second factor that its owner can no longer give, and what an account's page says of devices."""

from base64 import b32decode

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse
from django_otp.oath import TOTP

from builds.accounts import second_factor
from builds.accounts.agents import device_words
from builds.accounts.models import Device, Event
from tests import factories

pytestmark = pytest.mark.django_db


def switched_on(person) -> None:
    device = second_factor.unconfirmed(person)
    device.confirmed = True
    device.save()


def test_whoever_runs_the_site_lifts_a_lost_second_factor_and_its_owner_is_told(client, mailoutbox):
    person = factories.make_builder()
    person.email = "builder@example.org"
    person.save()
    switched_on(person)
    client.get(reverse("accounts:sign-in"))  # loads what notes the device
    client.force_login(person)
    call_command("second_factor_off", person.display_name)
    assert not second_factor.is_on(person)
    assert client.get(reverse("accounts:account")).status_code == 302, "everybody signed in as them is out"
    assert Event.objects.filter(person=person, action="second-factor-lifted").exists()
    assert [letter.to for letter in mailoutbox] == [["builder@example.org"]]


@pytest.mark.parametrize("name", ["Nobody at all", ""])
def test_a_name_that_nobody_has_is_refused(name):
    with pytest.raises(CommandError):
        call_command("second_factor_off", name)


def test_there_is_nothing_to_lift_without_one():
    with pytest.raises(CommandError):
        call_command("second_factor_off", factories.make_builder().display_name)


def test_the_key_typed_by_hand_makes_the_codes_that_are_asked_for(client):
    """RFC 4648 for its letters, RFC 6238 for the code."""
    person = factories.make_builder()
    client.force_login(person)
    page = client.get(reverse("accounts:second-factor")).content.decode()
    device = second_factor.unconfirmed(person)
    key = second_factor.make_key(device)
    assert key in page and "otpauth" not in page
    letters = key.replace(" ", "")
    raw = b32decode(letters + "=" * (-len(letters) % 8))
    assert device.verify_token(TOTP(raw, device.step, device.t0, device.digits).token())


CHROME = (
    "Mozilla/5.0 (Linux; Android 14; Phone) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/129.0 Mobile Safari/537.36"
)


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        (CHROME, "Chrome, Android"),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:130.0) Gecko/20100101 Firefox/130.0", "Firefox, Linux"),
        ("Mozilla/5.0 (Windows NT 10.0; Win64; x64) Chrome/129.0 Safari/537.36 Edg/129.0", "Edge, Windows"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) Version/17.5 Safari/604.1", "Safari, iPhone"),
        ("meter-logger/1", "meter-logger/1"),
        ("", "Unknown browser"),
    ],
)
def test_a_device_is_named_so_that_its_owner_knows_it(agent, words):
    assert device_words(agent) == words
    assert "Mozilla" not in Device(agent=agent).words


def test_one_device_alone_has_no_others_to_sign_out(client):
    client.force_login(factories.make_builder())
    assert "Sign out all other devices" not in client.get(reverse("accounts:account")).content.decode()
