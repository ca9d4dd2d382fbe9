from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("guides", "0006_stage_settings")]

    operations = [
        migrations.AlterModelTable(name="FaultBook", table="guides_faultbook"),
        migrations.RenameModel(old_name="FaultBook", new_name="StoredFaultDictionary"),
    ]
