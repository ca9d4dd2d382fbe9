"""How bad a snag is, beside what kind it is; older kinds are brought over."""

from django.db import migrations, models

KINDS = [
    ("words", "a step is unclear"),
    ("part", "a part is wrong or missing"),
    ("fit", "something does not fit"),
    ("damaged", "something is damaged"),
    ("reading", "a reading is wrong"),
    ("other", "something else"),
]
SEVERITIES = [
    ("danger", "danger: smoke, shock, heat or a bang"),
    ("stopped", "it has stopped me"),
    ("slowed", "it has slowed me down"),
    ("cosmetic", "a blemish, no more"),
]


def bring_over(apps, schema_editor):
    snags = apps.get_model("bench", "Snag").objects
    snags.filter(kind="danger").update(kind="other", severity="danger")
    snags.filter(kind="figure").update(kind="reading")
    snags.filter(kind="tool").update(kind="other")


class Migration(migrations.Migration):
    dependencies = [("bench", "0005_confirmed_faults")]
    operations = [
        migrations.AddField("snag", "severity", models.CharField(choices=SEVERITIES, default="slowed", max_length=10)),
        migrations.AlterField("snag", "kind", models.CharField(choices=KINDS, max_length=10)),
        migrations.RunPython(bring_over, migrations.RunPython.noop),
    ]
