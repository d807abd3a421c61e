"""Customer, site, fixtures, access and the log: the household file."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from customers.dealers.models import UnitSystem
from customers.people.models import User
from customers.tenancy.models import TenantModel


class Source(models.TextChoices):
    """Where the water comes from (the engine's SourceType)."""

    DRILLED_WELL = "drilled_well", _("drilled well")
    DUG_WELL = "dug_well", _("dug well")
    LAKE = "lake", _("lake")
    RIVER = "river", _("river")
    SPRING = "spring", _("spring")
    CISTERN = "cistern", _("cistern")


class Power(models.TextChoices):
    """Power at the place of the equipment."""

    MAINS = "mains", _("mains")
    DC12 = "12v", _("12 V")
    NONE = "none", _("none")


class AccessBy(models.TextChoices):
    """How one gets there."""

    ROAD = "road", _("road")
    BOAT = "boat", _("boat")
    TRACK = "track", _("track, on foot")


class PumpType(models.TextChoices):
    """Kinds of pump."""

    SUBMERSIBLE = "submersible", _("submersible")
    JET = "jet", _("jet")
    DIAPHRAGM = "diaphragm", _("12 V diaphragm")
    GRAVITY = "gravity", _("gravity, no pump")
    UNKNOWN = "unknown", _("not known")


class PipeMaterial(models.TextChoices):
    """Pipe between tank and taps."""

    COPPER = "copper", _("copper, type L")
    PEX = "pex", _("PEX")
    PVC = "pvc", _("PVC, schedule 40")
    STEEL = "steel", _("galvanised steel")


class PipeSize(models.TextChoices):
    """Nominal sizes, inch by name."""

    HALF = "1/2", "1/2 in"
    THREE_QUARTER = "3/4", "3/4 in"
    ONE = "1", "1 in"
    ONE_QUARTER = "1-1/4", "1 1/4 in"


class Customer(TenantModel):
    """Whose water it is."""

    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    second_phone = models.CharField(max_length=40, blank=True)
    postal_address = models.CharField(max_length=240, blank=True)
    language = models.CharField(max_length=8, default="en")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(TenantModel.Meta):
        abstract = False
        indexes = [models.Index(fields=["dealer", "name"], name="customer_by_name")]

    def __str__(self) -> str:
        return self.name


class Site(TenantModel):
    """The place: source, pump, plumbing, people, season, power, space. Lengths m, pressures kPa, volumes L."""

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="sites")
    file_number = models.CharField(max_length=16)
    name = models.CharField(max_length=80)
    road = models.CharField(max_length=160, blank=True)
    latitude = models.FloatField(null=True, blank=True, validators=[MinValueValidator(-90), MaxValueValidator(90)])
    longitude = models.FloatField(null=True, blank=True, validators=[MinValueValidator(-180), MaxValueValidator(180)])
    elevation_m = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-100), MaxValueValidator(4500)]
    )
    access_by = models.CharField(max_length=8, choices=AccessBy.choices, default=AccessBy.ROAD)
    access_note = models.CharField(max_length=240, blank=True)
    units = models.CharField(max_length=8, choices=UnitSystem.choices, blank=True)

    source = models.CharField(max_length=16, choices=Source.choices)
    source_note = models.CharField(max_length=160, blank=True)
    well_depth_m = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0.5), MaxValueValidator(600)]
    )
    casing_mm = models.FloatField(null=True, blank=True, validators=[MinValueValidator(50), MaxValueValidator(3000)])
    standing_water_m = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(600)]
    )
    well_yield_l_min = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0.1), MaxValueValidator(2000)]
    )
    intake_depth_m = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(600)]
    )
    water_temperature_c = models.FloatField(
        default=8.0,
        validators=[MinValueValidator(0.1), MaxValueValidator(35)],
        help_text=_("coldest expected"),
    )

    pump_type = models.CharField(max_length=12, choices=PumpType.choices, default=PumpType.UNKNOWN)
    pump_note = models.CharField(max_length=160, blank=True)
    cut_in_kpa = models.FloatField(null=True, blank=True, validators=[MinValueValidator(50), MaxValueValidator(700)])
    cut_out_kpa = models.FloatField(null=True, blank=True, validators=[MinValueValidator(70), MaxValueValidator(900)])
    tank_volume_l = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(2000)]
    )
    tank_precharge_kpa = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(700)]
    )

    tank_diameter_m = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0.15), MaxValueValidator(1.5)]
    )
    tank_height_m = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0.3), MaxValueValidator(2.5)]
    )
    room_c = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(50)],
        help_text=_("warmest air beside the tank"),
    )
    room_humidity = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(5), MaxValueValidator(100)]
    )

    pipe_size = models.CharField(max_length=6, choices=PipeSize.choices, default=PipeSize.THREE_QUARTER)
    pipe_material = models.CharField(max_length=8, choices=PipeMaterial.choices, default=PipeMaterial.COPPER)
    pipe_run_m = models.FloatField(default=15.0, validators=[MinValueValidator(0.5), MaxValueValidator(1000)])
    worst_fixture = models.CharField(max_length=60, default="upstairs shower")
    worst_fixture_height_m = models.FloatField(
        default=3.0, validators=[MinValueValidator(-10), MaxValueValidator(60)]
    )
    worst_fixture_min_kpa = models.FloatField(
        default=138.0, validators=[MinValueValidator(20), MaxValueValidator(400)]
    )
    untreated_tap = models.BooleanField(default=False, help_text=_("an outside tap branches off before treatment"))

    people_usual = models.FloatField(default=2, validators=[MinValueValidator(0.5), MaxValueValidator(200)])
    people_peak = models.FloatField(default=4, validators=[MinValueValidator(0.5), MaxValueValidator(400)])
    infants_or_pregnancy = models.BooleanField(default=False)
    opens_month = models.PositiveSmallIntegerField(null=True, blank=True)
    opens_day = models.PositiveSmallIntegerField(null=True, blank=True)
    closes_month = models.PositiveSmallIntegerField(null=True, blank=True)
    closes_day = models.PositiveSmallIntegerField(null=True, blank=True)

    winter_heated = models.BooleanField(default=True)
    power = models.CharField(max_length=8, choices=Power.choices, default=Power.MAINS)
    power_w = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(50000)])
    wall_m = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.2), MaxValueValidator(50)])
    depth_m = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.1), MaxValueValidator(50)])
    height_m = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.3), MaxValueValidator(10)])
    drain = models.BooleanField(default=True)
    drain_note = models.CharField(max_length=120, blank=True)
    septic = models.BooleanField(default=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(TenantModel.Meta):
        abstract = False
        constraints = [
            models.UniqueConstraint(fields=["dealer", "file_number"], name="site_file_number_once"),
            models.CheckConstraint(
                condition=Q(cut_out_kpa__isnull=True)
                | Q(cut_in_kpa__isnull=True)
                | Q(cut_out_kpa__gt=F("cut_in_kpa")),
                name="site_cut_out_above_cut_in",
            ),
            models.CheckConstraint(
                condition=Q(people_peak__gte=F("people_usual")), name="site_people_peak_at_least_usual"
            ),
            models.CheckConstraint(
                condition=Q(
                    opens_month__isnull=True,
                    opens_day__isnull=True,
                    closes_month__isnull=True,
                    closes_day__isnull=True,
                )
                | (
                    Q(
                        opens_month__isnull=False,
                        opens_day__isnull=False,
                        closes_month__isnull=False,
                        closes_day__isnull=False,
                    )
                    & Q(opens_month__range=(1, 12))
                    & Q(opens_day__range=(1, 31))
                    & Q(closes_month__range=(1, 12))
                    & Q(closes_day__range=(1, 31))
                ),
                name="site_season_whole_or_none",
            ),
        ]
        indexes = [models.Index(fields=["dealer", "name"], name="site_by_name")]

    def __str__(self) -> str:
        return self.name

    @property
    def unit_system(self) -> str:
        """The household's own units, else the dealer's."""
        return self.units or self.dealer.units

    @property
    def seasonal(self) -> bool:
        """Whether the place is used only part of the year."""
        return self.opens_month is not None


class SiteFixture(TenantModel):
    """How many of one fixture; ``code`` is a key of the engine's peak-demand table."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="fixtures")
    code = models.CharField(max_length=32)
    count = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(200)])

    class Meta(TenantModel.Meta):
        abstract = False
        constraints = [
            models.UniqueConstraint(fields=["dealer", "site", "code"], name="site_fixture_once"),
            models.CheckConstraint(condition=Q(count__gte=1), name="site_fixture_count"),
        ]


class HouseholdAccess(TenantModel):
    """A user who may see one site's own pages."""

    readable_by_own_user = True

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="access")
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    active = models.BooleanField(default=True)

    class Meta(TenantModel.Meta):
        abstract = False
        constraints = [models.UniqueConstraint(fields=["dealer", "site", "user"], name="household_access_once")]


class SignInLink(TenantModel):
    """A mailed sign-in link: only the hash is kept; opening it changes nothing, posting consumes it."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    token_hash = models.CharField(max_length=64)
    leads_to = models.CharField(max_length=200, blank=True)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        constraints = [models.UniqueConstraint(fields=["dealer", "token_hash"], name="sign_in_link_once")]


class LogEntry(TenantModel):
    """One line of a household's log: when, who, what."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="log")
    at = models.DateTimeField()
    who = models.CharField(max_length=120)
    what = models.CharField(max_length=400)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["dealer", "site", "-at"], name="log_by_site")]
