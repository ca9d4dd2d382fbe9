from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("review", "0009_one_state")]

    operations = [migrations.RenameField("cachedfinding", "found", "finding")]
