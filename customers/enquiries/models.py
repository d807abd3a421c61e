"""An enquiry, what was answered in it, its photographs, its mailed pages, and what happened to it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site, Source
from customers.observations.models import Observation
from customers.photos.models import KeptPhoto
from customers.tenancy.models import TenantModel


class EnquiryState(models.TextChoices):
    """Where an enquiry stands."""

    TAKING = "taking", _("being taken down")
    AWAITED = "awaited", _("waiting for the caller")
    ARRIVED = "arrived", _("came in, not read yet")
    IN_HAND = "in_hand", _("in hand")
    CLOSED = "closed", _("closed")


class CameBy(models.TextChoices):
    """How it came."""

    PHONE = "phone", _("by phone")
    LINK = "link", _("by the mailed page")


class AnswerKind(models.TextChoices):
    """What a question is about: the water, an unknown device, or the people and the place."""

    OBSERVATION = "observation", _("water")
    FEATURE = "feature", _("device")
    FACT = "fact", _("people and place")


class Told(models.TextChoices):
    """An answer."""

    YES = "yes", _("yes")
    NO = "no", _("no")
    UNKNOWN = "unknown", _("not known")


class Enquiry(TenantModel):
    """One enquiry. It may stand alone, become a household, or join one; ``site`` is null until then.

    ``confirmed_cause`` is a code of the diagnosis tables, said by a person once the job has shown it.
    """

    number = models.PositiveIntegerField()
    name = models.CharField(max_length=120, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    place = models.CharField(max_length=160, blank=True, help_text=_("where it is, as the caller says it"))
    source = models.CharField(max_length=16, choices=Source.choices, blank=True)
    note = models.TextField(max_length=4000, blank=True, help_text=_("the office's own; the caller never sees it"))
    told = models.TextField(max_length=4000, blank=True, help_text=_("typed by the caller on the mailed page"))
    site = models.ForeignKey(Site, on_delete=models.PROTECT, null=True, blank=True, related_name="enquiries")
    state = models.CharField(max_length=8, choices=EnquiryState.choices, default=EnquiryState.TAKING)
    came_by = models.CharField(max_length=8, choices=CameBy.choices, default=CameBy.PHONE)
    started_by = models.CharField(max_length=120)
    started_at = models.DateTimeField()
    changed_at = models.DateTimeField()
    arrived_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.CharField(max_length=120, blank=True)
    closed_reason = models.CharField(max_length=240, blank=True)
    confirmed_cause = models.CharField(max_length=40, blank=True)
    confirmed_by = models.CharField(max_length=120, blank=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    confirmed_note = models.CharField(max_length=240, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        verbose_name_plural = "enquiries"
        ordering = ["-started_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "number"], name="enquiry_number_once"),
            models.CheckConstraint(
                condition=Q(state="closed", closed_at__isnull=False) & ~Q(closed_reason="")
                | ~Q(state="closed") & Q(closed_at__isnull=True),
                name="enquiry_closed_with_reason",
            ),
            models.CheckConstraint(
                condition=Q(confirmed_cause="", confirmed_at__isnull=True)
                | ~Q(confirmed_cause="") & Q(confirmed_at__isnull=False),
                name="enquiry_cause_is_dated",
            ),
        ]
        indexes = [models.Index(fields=["dealer", "state", "-started_at"], name="enquiry_by_state")]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """The number as shown: E-0031."""
        return f"E-{self.number:04d}"

    @property
    def who(self) -> str:
        """The caller's name, or that nobody gave one."""
        return self.name or str(_("no name yet"))

    @property
    def open(self) -> bool:
        """Whether it can still be changed."""
        return self.state != EnquiryState.CLOSED


class EnquiryAnswer(TenantModel):
    """One answer. A later one ends the earlier and both stay; ``ended_at`` null is what stands."""

    enquiry = models.ForeignKey(Enquiry, on_delete=models.CASCADE, related_name="answers")
    kind = models.CharField(max_length=12, choices=AnswerKind.choices)
    code = models.CharField(max_length=40)
    thing = models.PositiveSmallIntegerField(
        default=1, help_text=_("number of the device it is about; water and people keep 1")
    )
    answer = models.CharField(max_length=8, choices=Told.choices)
    said_by = models.CharField(max_length=120)
    by_caller = models.BooleanField(default=False, help_text=_("typed by the caller on the mailed page"))
    said_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.CharField(max_length=120, blank=True)
    observation = models.ForeignKey(Observation, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["said_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["dealer", "enquiry", "kind", "thing", "code"],
                condition=Q(ended_at__isnull=True),
                name="enquiry_answer_stands_once",
            )
        ]


class EnquiryDevice(TenantModel):
    """One unknown device of an enquiry, by number: what people call it, and what it was taken for in the end.

    The first needs no row before there is something to keep; what is seen on each stands in the answers.
    """

    enquiry = models.ForeignKey(Enquiry, on_delete=models.CASCADE, related_name="devices")
    number = models.PositiveSmallIntegerField()
    called = models.CharField(max_length=80, blank=True)
    taken_for = models.CharField(max_length=40, blank=True, help_text=_("code of the device it was taken for"))

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "enquiry", "number"], name="enquiry_device_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="enquiry_devices_count_from_one"),
        ]

    def __str__(self) -> str:
        return self.called or str(_("device %(n)s") % {"n": self.number})


class EnquiryPhoto(KeptPhoto):
    """A photograph sent or taken for an enquiry; ``thing`` is the number of the device it shows, if it shows one."""

    enquiry = models.ForeignKey(Enquiry, on_delete=models.CASCADE, related_name="photos")
    by_caller = models.BooleanField(default=False)
    thing = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta(KeptPhoto.Meta):
        abstract = False


class EnquiryLink(TenantModel):
    """A mailed page of questions: only the token's hash is kept; opening it changes nothing, its button does."""

    enquiry = models.ForeignKey(Enquiry, on_delete=models.CASCADE, related_name="links")
    to_address = models.EmailField()
    token_hash = models.CharField(max_length=64)
    made_by = models.CharField(max_length=120)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-made_at", "-pk"]
        constraints = [models.UniqueConstraint(fields=["dealer", "token_hash"], name="enquiry_link_once")]


class EnquiryEntry(TenantModel):
    """One line of what happened to an enquiry: when, who, what."""

    enquiry = models.ForeignKey(Enquiry, on_delete=models.CASCADE, related_name="entries")
    at = models.DateTimeField()
    who = models.CharField(max_length=120)
    what = models.CharField(max_length=400)

    class Meta(TenantModel.Meta):
        abstract = False
        verbose_name_plural = "enquiry entries"
        ordering = ["-at", "-pk"]
