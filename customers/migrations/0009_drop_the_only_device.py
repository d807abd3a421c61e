from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("customers", "0008_take_several_devices"),
    ]

    operations = [
        migrations.RemoveField(model_name="enquiry", name="device"),
    ]
