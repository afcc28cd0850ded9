"""A reader has a language and a paper; mails are owed as rows, so that when one went is no column here any more."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('reports', '0005_kept_forecasts'),
    ]

    operations = [
        migrations.RenameField(model_name='weeklystatus', old_name='mailed_at', new_name='owed_at'),
        migrations.AlterField(
            model_name='weeklystatus',
            name='owed_at',
            field=models.DateTimeField(blank=True, help_text='When its mails were put among those owed.', null=True),
        ),
        migrations.RemoveField(model_name='reader', name='anchored_on'),
        migrations.AddField(
            model_name='reader',
            name='language',
            field=models.CharField(blank=True, default='', help_text='Empty: that of the site.', max_length=10),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name='reader',
            name='paper',
            field=models.CharField(blank=True, choices=[('letter', 'Letter'), ('a4', 'A4')], default='', help_text='Empty: as is usual on the site.', max_length=6),
            preserve_default=False,
        ),
    ]
