import uuid
from decimal import Decimal

import django.core.validators
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("customers", "0002_demand_a_whole_season"),
        ("sizing", "0003_keep_lines_worked_by_hand"),
    ]

    operations = [
        migrations.CreateModel(
            name="ItemLog",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("at", models.DateTimeField()),
                ("who", models.CharField(max_length=120)),
                ("what", models.CharField(max_length=400)),
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
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="log", to="sizing.catalogueitem"
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-pk"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
            },
        ),
        migrations.CreateModel(
            name="PriceList",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("name", models.CharField(max_length=80)),
                ("valid_from", models.DateField()),
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
            ],
            options={
                "ordering": ["-valid_from"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
            },
        ),
        migrations.CreateModel(
            name="ListPrice",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "price",
                    models.DecimalField(
                        decimal_places=2,
                        max_digits=10,
                        validators=[django.core.validators.MinValueValidator(Decimal("0"))],
                    ),
                ),
                ("parts", models.JSONField(blank=True, default=dict)),
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
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="list_prices",
                        to="sizing.catalogueitem",
                    ),
                ),
                (
                    "price_list",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="prices", to="sizing.pricelist"
                    ),
                ),
            ],
            options={
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
            },
        ),
        migrations.CreateModel(
            name="CatalogueFile",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("name", models.CharField(max_length=120)),
                ("told", models.JSONField(default=dict, help_text="how it was read: rows, separator, encoding")),
                ("rows", models.JSONField(default=list)),
                ("read_by", models.CharField(max_length=120)),
                ("read_at", models.DateTimeField()),
                ("taken_by", models.CharField(blank=True, max_length=120)),
                ("taken_at", models.DateTimeField(blank=True, null=True)),
                ("undone_by", models.CharField(blank=True, max_length=120)),
                ("undone_at", models.DateTimeField(blank=True, null=True)),
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
                "ordering": ["-read_at", "-pk"],
                "abstract": False,
                "base_manager_name": "objects",
                "default_manager_name": "objects",
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("undone_at__isnull", True), ("taken_at__isnull", False), _connector="OR"),
                        name="catalogue_file_taken_then_undone",
                    )
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="pricelist",
            constraint=models.UniqueConstraint(fields=("dealer", "valid_from"), name="price_list_one_a_day"),
        ),
        migrations.AddConstraint(
            model_name="listprice",
            constraint=models.UniqueConstraint(fields=("dealer", "price_list", "item"), name="list_price_once"),
        ),
        migrations.AddConstraint(
            model_name="listprice",
            constraint=models.CheckConstraint(condition=models.Q(("price__gte", 0)), name="list_price_not_negative"),
        ),
    ]
