"""Steps and checks get a place in one order, and a step says whether hands go in.

SQLite makes the table of the steps again for a column that takes no null, which loses the triggers that freeze it: they
are put back. Nullable columns leave the triggers where they are.
"""

from importlib import import_module

from django.db import migrations, models

_frozen = import_module("builds.guides.migrations.0002_freeze")


def freeze_steps(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        for event, row in (("INSERT", "NEW"), ("DELETE", "OLD")):
            _freeze(schema_editor, event, _frozen._revision("guides_step", row))
        either = " OR ".join(_frozen._revision("guides_step", row) for row in ("OLD", "NEW"))
        _freeze(schema_editor, "UPDATE", either)


def _freeze(schema_editor, event, condition):
    name = f"freeze_guides_step_{event.lower()}"
    schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}")
    schema_editor.execute(
        f"CREATE TRIGGER {name} BEFORE {event} ON guides_step WHEN {condition} "
        f"BEGIN SELECT RAISE(ABORT, '{_frozen.WORDS}'); END",
        params=None,
    )


class Migration(migrations.Migration):
    dependencies = [("guides", "0007_stored_fault_dictionary")]

    operations = [
        migrations.AddField("step", "place", models.PositiveIntegerField(editable=False, null=True)),
        migrations.AddField("check", "place", models.PositiveIntegerField(editable=False, null=True)),
        migrations.AddField("step", "hands_in", models.BooleanField(default=False)),
        migrations.RunPython(freeze_steps, freeze_steps),
    ]
