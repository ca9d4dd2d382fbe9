from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("bench", "0018_power_of_sittings")]
    operations = [migrations.RemoveField(model_name="sitting", name="power_began_at")]
