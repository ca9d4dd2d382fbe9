"""What a move says is kept as a code with the parts it is about; the sentences are made when they are shown.

Old rows are worked out again from the two revisions a build moved between.
"""

from django.db import migrations, models

FIELDS = ("kind", "value", "tolerance")


def listed(part):
    return part and {**{key: getattr(part, key) for key in FIELDS}, "type": part.detail.get("type", "")}


def action_of(old, new):
    if old is None or new is None:
        return "fit" if old is None and new is not None else "remove" if old is not None else "rewire"
    return "change" if listed(old) != listed(new) else "rewire"


def convert(apps, schema_editor):
    moves, parts = apps.get_model("bench", "Move"), apps.get_model("guides", "Part")
    sources = {move.build_id: move.source for move in moves.objects.select_related("source")}
    for swap in apps.get_model("bench", "PartSwap").objects.select_related("build"):
        source = sources.get(swap.build_id)
        old, new = (
            parts.objects.filter(revision_id=revision, ref=swap.ref).first() if revision else None
            for revision in (source and source.revision_id, swap.build.revision_id)
        )
        swap.action, swap.params = action_of(old, new), {"old": listed(old), "new": listed(new)}
        swap.save(update_fields=["action", "params"])


class Migration(migrations.Migration):
    dependencies = [("bench", "0023_standing_stops")]

    operations = [
        migrations.AddField(
            "partswap",
            "action",
            models.CharField(
                max_length=10,
                default="rewire",
                choices=[("fit", "Fit"), ("remove", "Remove"), ("change", "Change"), ("rewire", "Rewire")],
            ),
            preserve_default=False,
        ),
        migrations.AddField("partswap", "params", models.JSONField(default=dict)),
        migrations.RunPython(convert, migrations.RunPython.noop),
        migrations.RemoveField("partswap", "words"),
        migrations.RemoveField("carried", "words"),
    ]
