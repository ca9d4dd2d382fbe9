"""Sentences of the record of who did what."""

from django.utils.translation import gettext as _


def event_text(action: str, params: dict) -> str:
    """What was done, without who and when; a code without a sentence is shown as it is."""
    make = _TEXTS.get(action)
    return make(params) if make else action.replace("-", " ").replace(":", ": ")


_TEXTS = {
    "signed-in": lambda p: _("Signed in"),
    "signed-out-everywhere": lambda p: _("Signed out all other devices"),
    "password-changed": lambda p: _("Changed the password"),
    "password-link": lambda p: _("Made a new-password link for %(person)s") % p,
    "password-reset": lambda p: _("Set a new password with a link"),
    "address-changed": lambda p: _("Changed the e-mail address"),
    "address-confirmed": lambda p: _("Confirmed the e-mail address"),
    "password-link-by-command": lambda p: _("The site administrator made a new-password link"),
    "second-factor-on": lambda p: _("Switched the second factor on"),
    "second-factor-off": lambda p: _("Switched the second factor off"),
    "second-factor-lifted": lambda p: _("Second factor switched off by the site administrator"),
    "recovery-code-used": lambda p: _("Signed in with a recovery code"),
    "account-closed": lambda p: _("Closed the account"),
    "builder-removed": lambda p: _("Removed %(person)s from build %(serial)s") % p,
    "person-added": lambda p: _("Added %(person)s as %(role)s") % p,
    "role-offered": lambda p: _("Offered %(person)s the role %(role)s") % p,
    "kit-offered": lambda p: _("Offered to hand the kit over to %(person)s") % p,
    "offer-accepted": lambda p: _("Accepted the role %(role)s") % p,
    "offer-declined": lambda p: _("Declined the role %(role)s") % p,
    "offer-withdrawn": lambda p: _("Withdrew the offer to %(person)s: %(role)s") % p,
    "offer-lapsed": lambda p: _("The offer to %(person)s lapsed: %(role)s") % p,
    "kit-imported": lambda p: _("Imported the kit from another installation"),
    "person-removed": lambda p: _("Removed %(person)s from the kit") % p,
    "role-changed": lambda p: _("Made %(person)s %(role)s") % p,
    "token-made": lambda p: _("Made the access token “%(name)s”") % p,
    "token-withdrawn": lambda p: _("Withdrew the access token “%(name)s”") % p,
    "guides:issue": lambda p: _("Issued revision %(letter)s") % p,
    "guides:withdraw": lambda p: _("Withdrew revision %(letter)s") % p,
    "guides:clone": lambda p: _("Started a draft from revision %(letter)s") % p,
    "review:halt": lambda p: _("Halted a stage of revision %(letter)s") % p,
    "review:lift": lambda p: _("Lifted a halt of revision %(letter)s") % p,
    "review:errata": lambda p: _("Published an erratum for revision %(letter)s") % p,
    "review:withdraw-erratum": lambda p: _("Withdrew an erratum of revision %(letter)s") % p,
    "review:concede": lambda p: _("Conceded a check of a build"),
    "review:release": lambda p: _("Changed the release criteria"),
    "review:decide-check": lambda p: _("Decided on a finding of revision %(letter)s") % p,
    "review:decide-snag": lambda p: _("Decided on a snag of revision %(letter)s") % p,
}
