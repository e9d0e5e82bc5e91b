from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("business", "0008_quiet_hours_of_messages")]

    operations = [
        migrations.AlterField(
            model_name="businessprofile",
            name="climate_profile",
            field=models.CharField(
                blank=True,
                choices=[
                    ("maritime", "Maritime: mild winters, cool summers"),
                    ("continental_cold", "Continental: cold winters, warm summers"),
                    ("mediterranean", "Mediterranean: mild wet winters, hot dry summers"),
                ],
                help_text=(
                    "Holds for every site that has none of its own; leave empty to derive it from the weather of "
                    "each site."
                ),
                max_length=20,
            ),
        ),
    ]
