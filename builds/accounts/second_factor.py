"""The second factor: a code from an authenticator app (TOTP, RFC 6238) or one of ten recovery codes, each once."""

import secrets
from base64 import b32encode

import segno
from django.db import transaction
from django.utils import timezone
from django.utils.safestring import mark_safe
from django_otp import devices_for_user, match_token
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

RECOVERY_CODES = 10


def is_on(person) -> bool:
    return TOTPDevice.objects.filter(user=person, confirmed=True).exists()


def unconfirmed(person) -> TOTPDevice:
    """The device being set up: the same until its first code has been typed."""
    return TOTPDevice.objects.get_or_create(user=person, confirmed=False, defaults={"name": "app"})[0]


def qr_code(device: TOTPDevice) -> str:
    code = segno.make(device.config_url, error="m")
    return mark_safe(code.svg_inline(scale=4, border=2, svgclass="qr", lineclass="qr-line", omitsize=True))  # noqa: S308


def make_key(device: TOTPDevice) -> str:
    """What is typed where no code can be scanned: base 32 (RFC 4648), in groups of four."""
    key = b32encode(device.bin_key).decode().rstrip("=")
    return " ".join(key[at : at + 4] for at in range(0, len(key), 4))


@transaction.atomic
def confirm(person, code: str) -> list[str] | None:
    """Switch it on with the app's first code; the recovery codes, shown this once. None for a wrong code."""
    device = unconfirmed(person)
    if not device.verify_token(code.replace(" ", "")):
        return None
    device.confirmed = True
    device.save(update_fields=["confirmed"])
    return _new_codes(person)


def _new_codes(person) -> list[str]:
    StaticDevice.objects.filter(user=person).delete()
    device = StaticDevice.objects.create(user=person, name="recovery")
    codes = [secrets.token_hex(5) for _n in range(RECOVERY_CODES)]
    StaticToken.objects.bulk_create([StaticToken(device=device, token=code) for code in codes])
    return codes


@transaction.atomic
def switch_off(person) -> None:
    for device in devices_for_user(person, confirmed=None):
        device.delete()


@transaction.atomic
def verify(person, code: str):
    """The device whose code this is, None where it is none. Each code opens once; wrong ones make the next wait."""
    return match_token(person, code.replace(" ", "").lower())


def seconds_to_wait(person) -> float:
    """Until a next code is looked at, of the app or for recovery, whichever is free first: each wrong one
    makes the next wait longer."""
    return min((_find_wait(device) for device in devices_for_user(person)), default=0.0)


def _find_wait(device) -> float:
    is_allowed, why = device.verify_is_allowed()
    return 0.0 if is_allowed else max(0.0, (why["locked_until"] - timezone.now()).total_seconds())


def forget_wrong_codes(person) -> None:
    """Whoever typed them knew the password before: with a new one, their wrong codes keep nobody waiting."""
    for device in devices_for_user(person):
        device.throttle_reset()


def is_recovery(device) -> bool:
    return isinstance(device, StaticDevice)
