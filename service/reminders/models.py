"""The outbox: what must be said to whom, once."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from customers.enquiries.models import Enquiry
from customers.households.models import Site
from customers.tenancy.models import TenantModel


class MessageState(models.TextChoices):
    """Where a message stands."""

    QUEUED = "queued", _("queued")
    CLAIMED = "claimed", _("being sent")
    SENT = "sent", _("sent")
    FAILED = "failed", _("failed, will try again")
    DEAD = "dead", _("given up")
    HELD = "held", _("held for a person")
    SUPPRESSED = "suppressed", _("suppressed")


class Message(TenantModel):
    """One message to one address, about a household or an enquiry; unique by that, rule, subject, due date and
    channel, so it is said once."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, null=True, blank=True, related_name="messages")
    enquiry = models.ForeignKey(Enquiry, on_delete=models.CASCADE, null=True, blank=True, related_name="messages")
    rule = models.CharField(
        max_length=32, help_text=_("why it is sent: service_due, quote_issued, do_not_drink, ...")
    )
    subject_key = models.CharField(max_length=64, help_text=_("what it is about"))
    due_on = models.DateField()
    channel = models.CharField(max_length=8, default="email")
    to_address = models.EmailField()
    subject = models.CharField(max_length=200)
    body = models.TextField()
    body_html = models.TextField(blank=True)
    attachment = models.ForeignKey("service.Paper", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    message_id = models.CharField(max_length=120)
    state = models.CharField(max_length=12, choices=MessageState.choices, default=MessageState.QUEUED)
    queued_at = models.DateTimeField()
    send_after = models.DateTimeField()
    lease_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.CharField(max_length=300, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-queued_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["dealer", "site", "rule", "subject_key", "due_on", "channel"],
                name="message_said_once",
            ),
            models.UniqueConstraint(
                fields=["dealer", "enquiry", "rule", "subject_key", "due_on", "channel"],
                name="message_said_once_to_caller",
            ),
            models.CheckConstraint(
                condition=Q(site__isnull=True, enquiry__isnull=False) | Q(site__isnull=False, enquiry__isnull=True),
                name="message_about_one",
            ),
            models.CheckConstraint(
                condition=~Q(state="sent") | Q(sent_at__isnull=False), name="message_sent_is_dated"
            ),
        ]
        indexes = [models.Index(fields=["state", "send_after"], name="message_to_send")]


class Suppression(TenantModel):
    """An address that asked for no reminders, or that bounced. Safety notices go all the same."""

    address = models.EmailField()
    reason = models.CharField(max_length=120)
    since = models.DateTimeField()

    class Meta(TenantModel.Meta):
        abstract = False
        constraints = [models.UniqueConstraint(fields=["dealer", "address"], name="suppression_once")]
