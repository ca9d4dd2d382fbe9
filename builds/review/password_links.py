"""When a designer may make a builder a link for a new password."""

from django.utils.translation import gettext as _

from builds.accounts import second_factor
from builds.accounts.models import Person
from builds.guides.models import Kit, KitRole


def why_no_password_link(designer: Person, builder: Person) -> str:
    """A link opens all that its person sees and may do: it is made only for a builder who has nothing beyond the kits
    that this designer may change. Everybody else asks for one by e-mail."""
    if builder == designer:
        return _("Change your own password on your account page.")
    if not builder.is_active:
        return _("This account is closed. Remove its builder from the build, then make a link for the next one.")
    builds = builder.builds.all()
    if builder.sees_kits:
        text = _("%(person)s also designs kits. They must request a new password by e-mail themselves.")
    elif builds.exclude(revision__kit__in=_kits_to_change(designer)).exists() or not builds.exists():
        text = _(
            "%(person)s also builds kits of other designers. They must request a new password by e-mail themselves."
        )
    elif second_factor.is_on(builder):
        text = _("%(person)s signs in with a second factor. They must request a new password by e-mail themselves.")
    else:
        return ""
    return text % {"person": builder}


def _kits_to_change(designer: Person):
    """Whoever only reads a kit must not take readings of it in a builder's name."""
    only_read = KitRole.objects.filter(person=designer, role=KitRole.Role.READER)
    return Kit.objects.designed_by(designer).exclude(pk__in=only_read.values("kit"))
