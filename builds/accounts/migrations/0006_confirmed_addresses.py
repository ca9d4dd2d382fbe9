"""Addresses that are known to reach their person. Of those here already only a link for a new password that was mailed
and used shows it; everybody else gets a link to confirm theirs (letters.ask_everybody, once a day)."""

from django.db import migrations, models


def confirm_the_proven(apps, schema_editor):
    people, events = apps.get_model("accounts", "Person"), apps.get_model("accounts", "Event")
    links = apps.get_model("accounts", "Invitation").objects.filter(purpose="password", made_by=None)
    proven = links.exclude(used_at=None).order_by("used_at").values_list("person", "used_at")
    for pk, used_at in dict(proven).items():  # the last one of each
        if not events.objects.filter(person=pk, action="address-changed", at__gte=used_at).exists():
            people.objects.filter(pk=pk, is_active=True).update(confirmed_email=models.F("email"))


class Migration(migrations.Migration):
    dependencies = [("accounts", "0005_events_stay")]
    operations = [
        migrations.AddField("person", "asked_to_confirm_at", models.DateTimeField(editable=False, null=True)),
        migrations.AddField(
            "person",
            "confirmed_email",
            models.EmailField(blank=True, db_default="", default="", editable=False, max_length=254),
        ),
        migrations.RunPython(confirm_the_proven, migrations.RunPython.noop),
    ]
