"""A key for every name that is the same for all spellings a reader takes for one."""

from django.db import migrations, models

from builds.accounts.names import name_key


def fill(apps, schema_editor):
    people, used = apps.get_model("accounts", "Person"), set()
    for person in people.objects.order_by("pk"):
        key = name_key(person.display_name)
        if key in used:  # two were let in whose names look alike: both still sign in, by their own spelling
            key = f"{key} {person.pk}"
        used.add(key)
        people.objects.filter(pk=person.pk).update(name_key=key)


class Migration(migrations.Migration):
    dependencies = [("accounts", "0002_person_language_and_time_zone")]
    operations = [
        migrations.AddField("person", "name_key", models.CharField(max_length=180, null=True, editable=False)),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.AlterField("person", "name_key", models.CharField(max_length=180, unique=True, editable=False)),
    ]
