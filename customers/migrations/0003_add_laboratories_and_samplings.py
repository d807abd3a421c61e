"""Laboratories, samplings and their draws, laboratories' files and their PDFs."""

import datetime
import uuid

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("customers", "0002_demand_a_whole_season"),
    ]

    operations = [
        migrations.CreateModel(
            name="Laboratory",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("name", models.CharField(max_length=120)),
                ("address", models.CharField(blank=True, max_length=240)),
                ("contact", models.CharField(blank=True, max_length=120)),
                ("phone", models.CharField(blank=True, max_length=40)),
                ("email", models.EmailField(blank=True, max_length=254)),
                ("accreditation", models.CharField(blank=True, max_length=120)),
                ("receives_on", models.CharField(default="01234", help_text="weekdays, Monday is 0", max_length=7)),
                ("receives_from", models.TimeField(default=datetime.time(8, 0))),
                ("receives_until", models.TimeField(default=datetime.time(15, 0))),
                (
                    "result_days",
                    models.PositiveSmallIntegerField(default=10, help_text="days from receipt to results"),
                ),
                ("note", models.CharField(blank=True, max_length=240)),
                ("active", models.BooleanField(default=True)),
                ("layout", models.JSONField(blank=True, default=dict)),
                (
                    "dealer",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="customers.dealer",
                    ),
                ),
            ],
            options={
                "ordering": ["name", "pk"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
            },
        ),
        migrations.CreateModel(
            name="LabFile",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("name", models.CharField(max_length=120)),
                ("file", models.FileField(upload_to="lab_files")),
                ("sha256", models.CharField(max_length=64)),
                ("size", models.PositiveIntegerField()),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("waiting", "not yet taken in"),
                            ("taken_in", "taken in"),
                            ("taken_back", "taken back"),
                            ("dropped", "dropped"),
                        ],
                        default="waiting",
                        max_length=12,
                    ),
                ),
                ("answers", models.JSONField(blank=True, default=dict)),
                ("uploaded_by", models.CharField(max_length=120)),
                ("uploaded_at", models.DateTimeField()),
                ("taken_in_by", models.CharField(blank=True, max_length=120)),
                ("taken_in_at", models.DateTimeField(blank=True, null=True)),
                ("taken_back_at", models.DateTimeField(blank=True, null=True)),
                (
                    "dealer",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="customers.dealer",
                    ),
                ),
                (
                    "laboratory",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="files", to="customers.laboratory"
                    ),
                ),
            ],
            options={
                "ordering": ["-uploaded_at", "-pk"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
            },
        ),
        migrations.CreateModel(
            name="LaboratoryBottle",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("code", models.CharField(max_length=16)),
                ("container", models.CharField(blank=True, max_length=80)),
                ("volume_ml", models.PositiveIntegerField(blank=True, null=True)),
                ("preservation", models.CharField(blank=True, max_length=160)),
                ("hold_h", models.FloatField(blank=True, null=True)),
                (
                    "dealer",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="customers.dealer",
                    ),
                ),
                (
                    "laboratory",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="bottles", to="customers.laboratory"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
            },
        ),
        migrations.CreateModel(
            name="LabReport",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("name", models.CharField(max_length=120)),
                ("file", models.FileField(upload_to="lab_reports")),
                ("sha256", models.CharField(max_length=64)),
                ("size", models.PositiveIntegerField()),
                ("added_by", models.CharField(max_length=120)),
                ("added_at", models.DateTimeField()),
                (
                    "dealer",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="customers.dealer",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="lab_reports", to="customers.site"
                    ),
                ),
            ],
            options={
                "ordering": ["-added_at", "-pk"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
            },
        ),
        migrations.AddField(
            model_name="watertest",
            name="report",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="tests",
                to="customers.labreport",
            ),
        ),
        migrations.CreateModel(
            name="Sampling",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("number", models.PositiveIntegerField()),
                (
                    "purpose",
                    models.CharField(
                        choices=[
                            ("evidence", "to know the water"),
                            ("prove", "to prove a new installation"),
                            ("clear", "clear sample after a remedy"),
                            ("again", "test again, as due"),
                        ],
                        default="evidence",
                        max_length=10,
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("planned", "planned"),
                            ("drawn", "drawn"),
                            ("at_lab", "at the laboratory"),
                            ("answered", "results in"),
                            ("called_off", "called off"),
                        ],
                        default="planned",
                        max_length=12,
                    ),
                ),
                ("planned_on", models.DateField()),
                ("planned_at", models.TimeField()),
                ("drawer", models.CharField(blank=True, max_length=120)),
                ("note", models.CharField(blank=True, max_length=240)),
                (
                    "deliver_by",
                    models.DateTimeField(blank=True, help_text="latest arrival, counted from the draws", null=True),
                ),
                ("received_at", models.DateTimeField(blank=True, null=True)),
                ("results_due_on", models.DateField()),
                ("due_by_hand", models.BooleanField(default=False)),
                ("chased_on", models.DateField(blank=True, null=True)),
                ("answered_at", models.DateTimeField(blank=True, null=True)),
                ("closed_because", models.CharField(blank=True, max_length=240)),
                ("made_by", models.CharField(max_length=120)),
                ("made_at", models.DateTimeField()),
                (
                    "dealer",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="customers.dealer",
                    ),
                ),
                (
                    "laboratory",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="samplings",
                        to="customers.laboratory",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="samplings", to="customers.site"
                    ),
                ),
            ],
            options={
                "ordering": ["-planned_on", "-pk"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
            },
        ),
        migrations.CreateModel(
            name="SamplingDraw",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("position", models.PositiveSmallIntegerField()),
                (
                    "place",
                    models.CharField(
                        choices=[
                            ("raw", "raw water, before treatment"),
                            ("between", "between stages"),
                            ("entry", "treated water, after the last stage"),
                            ("tap", "drinking tap"),
                        ],
                        max_length=8,
                    ),
                ),
                ("point", models.CharField(blank=True, max_length=2)),
                (
                    "mode",
                    models.CharField(
                        choices=[("flushed", "flushed"), ("first_draw", "first draw")],
                        default="flushed",
                        max_length=10,
                    ),
                ),
                ("where", models.CharField(blank=True, help_text="which tap", max_length=120)),
                ("analytes", models.JSONField(default=list)),
                ("drawn_at", models.DateTimeField(blank=True, null=True)),
                (
                    "dealer",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="customers.dealer",
                    ),
                ),
                (
                    "sampling",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="draws", to="customers.sampling"
                    ),
                ),
            ],
            options={
                "ordering": ["position"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
            },
        ),
        migrations.CreateModel(
            name="DrawAnswer",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "dealer",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="customers.dealer",
                    ),
                ),
                (
                    "test",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="answers", to="customers.watertest"
                    ),
                ),
                (
                    "draw",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="answers",
                        to="customers.samplingdraw",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
            },
        ),
        migrations.CreateModel(
            name="LabFileTest",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("sample", models.CharField(max_length=80)),
                (
                    "dealer",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="customers.dealer",
                    ),
                ),
                (
                    "lab_file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="tests", to="customers.labfile"
                    ),
                ),
                (
                    "test",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="files", to="customers.watertest"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
                "constraints": [
                    models.UniqueConstraint(fields=("dealer", "lab_file", "test"), name="lab_file_test_once")
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="laboratory",
            constraint=models.UniqueConstraint(fields=("dealer", "name"), name="laboratory_name_once"),
        ),
        migrations.AddConstraint(
            model_name="laboratory",
            constraint=models.CheckConstraint(
                condition=models.Q(("receives_from__lt", models.F("receives_until"))),
                name="laboratory_opens_before_it_shuts",
            ),
        ),
        migrations.AddConstraint(
            model_name="laboratory",
            constraint=models.CheckConstraint(
                condition=models.Q(("result_days__gte", 1), ("result_days__lte", 120)),
                name="laboratory_answers_in_time",
            ),
        ),
        migrations.AddIndex(
            model_name="labfile",
            index=models.Index(fields=["dealer", "sha256"], name="lab_file_by_bytes"),
        ),
        migrations.AddConstraint(
            model_name="labfile",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("state", "taken_in"), _negated=True), ("taken_in_at__isnull", False), _connector="OR"
                ),
                name="lab_file_taken_in_is_dated",
            ),
        ),
        migrations.AddConstraint(
            model_name="laboratorybottle",
            constraint=models.UniqueConstraint(
                fields=("dealer", "laboratory", "code"), name="laboratory_bottle_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="laboratorybottle",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("hold_h__isnull", True), models.Q(("hold_h__gt", 0), ("hold_h__lte", 8760)), _connector="OR"
                ),
                name="laboratory_bottle_keeps",
            ),
        ),
        migrations.AddConstraint(
            model_name="laboratorybottle",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("volume_ml__isnull", True),
                    models.Q(("volume_ml__gte", 1), ("volume_ml__lte", 20000)),
                    _connector="OR",
                ),
                name="laboratory_bottle_holds",
            ),
        ),
        migrations.AddConstraint(
            model_name="labreport",
            constraint=models.UniqueConstraint(fields=("dealer", "site", "sha256"), name="lab_report_once_a_site"),
        ),
        migrations.AddIndex(
            model_name="sampling",
            index=models.Index(fields=["dealer", "state", "results_due_on"], name="sampling_by_due"),
        ),
        migrations.AddConstraint(
            model_name="sampling",
            constraint=models.UniqueConstraint(fields=("dealer", "number"), name="sampling_number_once"),
        ),
        migrations.AddConstraint(
            model_name="sampling",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("state", "answered"), _negated=True), ("answered_at__isnull", False), _connector="OR"
                ),
                name="sampling_answered_is_dated",
            ),
        ),
        migrations.AddConstraint(
            model_name="sampling",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("state", "at_lab"), _negated=True), ("received_at__isnull", False), _connector="OR"
                ),
                name="sampling_received_is_dated",
            ),
        ),
        migrations.AddConstraint(
            model_name="sampling",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("state", "called_off"), _negated=True),
                    models.Q(("closed_because", ""), _negated=True),
                    _connector="OR",
                ),
                name="sampling_called_off_says_why",
            ),
        ),
        migrations.AddConstraint(
            model_name="samplingdraw",
            constraint=models.UniqueConstraint(fields=("dealer", "sampling", "position"), name="draw_once"),
        ),
        migrations.AddConstraint(
            model_name="drawanswer",
            constraint=models.UniqueConstraint(fields=("dealer", "draw", "test"), name="draw_answer_once"),
        ),
    ]
