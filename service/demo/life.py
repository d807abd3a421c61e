"""One household's life in the demo, lived through the product's own actions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from customers.flow_tests.actions import record_flow_test
from customers.households.actions import create_household
from customers.households.models import Site
from customers.households.queries import open_on
from customers.households.sign_in import give_access
from customers.observations.actions import note_observation
from customers.people.actors import Actor
from customers.people.models import Staff
from customers.water_tests.actions import RowIn
from service.demo.causes import confirm_found
from service.demo.lines import work_lines
from service.installs.seasons import day_of_year
from service.jobs.actions import plan_job, start_job
from service.jobs.entries import tick_task
from service.jobs.models import Job, TaskKind
from service.milestones.actions import answer_quote, book_visit, finish_job, issue_quote, take_in_water_test
from service.reminders.models import Message, MessageState
from sizing.engine.errors import EngineError
from sizing.proposals.actions import make_design
from sizing.proposals.adapters import raw_water
from sizing.proposals.goals import default_wishes
from sizing.proposals.models import Proposal
from sizing.quotes.actions import draft_quote
from sizing.quotes.models import Quote

#: How far a household's story goes; each step contains the ones before it.
STORIES = ("enquiry", "tested", "designed", "drafted", "quoted", "accepted", "booked", "commissioned", "living")


@dataclass(frozen=True)
class Crew:
    """The dealer's people as the story needs them."""

    office: Actor
    technicians: tuple[Staff, ...]


class Story:
    """Lets one household of the scenario live until ``today``."""

    def __init__(self, household: Mapping[str, Any], crew: Crew, today: date) -> None:
        self.told = household
        self.crew = crew
        self.today = today
        self.zone = ZoneInfo(crew.office.dealer.time_zone)
        self.who = crew.office.name
        self.site: Site

    def at(self, day: date, hour: int = 10) -> datetime:
        """A moment of a day at the dealer's."""
        return datetime.combine(day, time(hour), tzinfo=self.zone)

    def ago(self, days: int) -> date:
        """A day that many days before today."""
        return self.today - timedelta(days=days)

    def live(self) -> str:
        """Live the story; returns how far it came, in words."""
        story = self.told.get("story", "tested")
        reach = STORIES.index(story)
        began = self.ago(int(self.told.get("began_days_ago", 40)))
        self._open(began)
        if reach >= STORIES.index("tested"):
            self._measure(began + timedelta(days=3))
        if reach < STORIES.index("designed"):
            return story
        proposal = self._design(began + timedelta(days=12))
        if proposal is None or not proposal.trains.exists():
            return "designed: no train passes"
        work_lines(proposal, self.told.get("bench", ()), self.who, self.at(began + timedelta(days=12), 11))
        if reach < STORIES.index("drafted"):
            return story
        quote = self._quote(proposal, began + timedelta(days=13), issue=reach >= STORIES.index("quoted"))
        if reach < STORIES.index("accepted"):
            return story
        job = self._accept(quote, began + timedelta(days=16))
        if reach < STORIES.index("booked"):
            return story
        if story == "booked":
            self._book(job, self.today + timedelta(days=int(self.told.get("booked_in_days", 0))), self.at(began))
            return story
        fitted = min(began + timedelta(days=25), self.today)
        self._do(job, fitted)
        if reach >= STORIES.index("living"):
            self._prove(fitted + timedelta(days=2))
            self._years(fitted)
        confirm_found(self.site, self.told, self.crew.technicians[0].name, self.at(fitted))
        self._last_words()
        return story

    def _open(self, day: date) -> None:
        told = self.told
        now = self.at(day)
        self.site = create_household(
            actor=self.crew.office, now=now, customer=told["customer"], site=told["site"], fixtures=told["fixtures"]
        )
        for code, where, words in told.get("symptoms", ()):
            note_observation(
                site=self.site, actor_name=self.who, now=now, code=code, where=where, words=words, since=""
            )
        if self.site.customer.email:
            give_access(site=self.site, email=self.site.customer.email, actor=self.crew.office, now=now)

    def _measure(self, day: date) -> None:
        told, technician = self.told, self.crew.technicians[0].name
        record_flow_test(
            site=self.site,
            actor_name=technician,
            now=self.at(day),
            tested_on=day,
            tested_by=technician,
            method="drawdown",
            runs=[(float(litres), float(seconds)) for litres, seconds in told["flow"]],
            cut_in_kpa=self.site.cut_in_kpa,
            cut_out_kpa=self.site.cut_out_kpa,
            note="",
        )
        self.sample(day, "raw", told["raw"], number="R")

    def sample(
        self, day: date, place: str, rows: Sequence[Sequence[str]], *, number: str, proves: bool = False
    ) -> None:
        """A laboratory sample drawn on a day, its results in three days later (or today)."""
        back = min(day + timedelta(days=3), self.today)
        take_in_water_test(
            site=self.site,
            actor_name=self.who,
            now=self.at(back),
            heading={
                "kind": "lab",
                "place": place,
                "sampled_on": day,
                "sampled_by": self.crew.technicians[0].name,
                "laboratory": self.told.get("laboratory", "Northreach Laboratory"),
                "report_number": f"NL-{day:%y}-{self.site.file_number[-4:]}{number}",
                "proves_install": proves,
            },
            rows=[RowIn(analyte, text, unit) for analyte, text, unit in rows],
            form_token=None,
        )

    def _design(self, day: date) -> Proposal | None:
        water, _unusable = raw_water(self.site)
        wishes = replace(
            default_wishes(water, jurisdiction=self.site.dealer.jurisdiction), **self.told.get("wishes", {})
        )
        try:
            return make_design(site=self.site, actor_name=self.who, now=self.at(day), wishes=wishes)
        except EngineError:
            return None

    def _quote(self, proposal: Proposal, day: date, *, issue: bool) -> Quote:
        letter = self.told.get("choose", "A")
        train = proposal.trains.filter(letter=letter).first() or proposal.trains.get(letter="A")
        quote = draft_quote(train=train, actor_name=self.who, now=self.at(day))
        if issue:
            issue_quote(quote=quote, actor=self.crew.office, now=self.at(day, 11))
            quote.refresh_from_db()
        return quote

    def _accept(self, quote: Quote, day: date) -> Job:
        access = self.site.access.select_related("user").first()
        assert access is not None, f"{self.site.name}: a household that answers a quote needs an e-mail"
        answer_quote(
            quote=quote,
            accepted=True,
            name=self.site.customer.name,
            signature="M12 70L40 30L62 78L96 34L120 70L170 60L240 66",
            reason="",
            user=access.user,
            address="192.0.2.10",
            user_agent="demo",
            document_hash=quote.fingerprint,
            now=self.at(day, 19),
        )
        return Job.objects.get(site=self.site, install__quote=quote)

    def _book(self, job: Job, day: date, now: datetime) -> None:
        book_visit(
            job=job,
            actor_name=self.who,
            now=now,
            day=day,
            start_at=time(int(self.told.get("start_hour", 9))),
            staff=list(self.crew.technicians[: int(self.told.get("crew", 1))]),
        )

    def _do(self, job: Job, day: date) -> None:
        """Book a job, do every line of it, finish it."""
        technician = self.crew.technicians[0].name
        self._book(job, day, self.at(day, 7))
        start_job(job=job, actor_name=technician, now=self.at(day, 9))
        for task in job.tasks.order_by("position"):
            reading = self._reading(task.quantity) if task.kind == TaskKind.READING else None
            text = f"S{self.site.file_number[-4:]}{task.position:02d}" if task.kind == TaskKind.SERIAL else ""
            tick_task(task=task, actor_name=technician, now=self.at(day, 12), value=reading, text=text)
        finish_job(job=job, actor_name=technician, now=self.at(day, 15), signed_name=self.site.customer.name)

    def _reading(self, quantity: str) -> float:
        litres, seconds = self.told["flow"][0]
        usual = {
            "flow": round(float(litres) / float(seconds) * 60, 1),
            "pressure": float(self.site.cut_in_kpa or 275) + 60,
            "temperature": self.site.water_temperature_c,
        }
        return usual.get(quantity, 1.0)

    def _prove(self, day: date) -> None:
        rows = [("total_coliform", "absent", ""), ("e_coli", "absent", ""), *self.told.get("treated", ())]
        for number, later in (("P", day), ("Q", day + timedelta(days=7))):
            if later <= self.today:
                self.sample(later, "entry", rows, number=number, proves=True)

    def _years(self, fitted: date) -> None:
        """Closings, openings and yearly services since, then whatever the scenario says happened last."""
        for kind, day in self._calendar(fitted):
            words = {"opening": "Opening", "closing": "Closing", "service": "Yearly service"}[kind]
            if day >= self.ago(int(self.told.get("missed_days", 0))):
                continue
            job = plan_job(
                site=self.site, kind=kind, what=words, actor_name=self.who, now=self.at(day - timedelta(days=20))
            )
            self._do(job, day)
            if kind != "closing":
                rows = [("total_coliform", "absent", ""), ("e_coli", "absent", ""), *self.told.get("treated", ())]
                self.sample(day, "entry", rows, number=kind[0].upper())
        bad = self.told.get("last_result")
        if bad:
            day = self.ago(int(bad.get("days_ago", 5)))
            while not open_on(self.site, day):  # nobody draws water in a closed house
                day -= timedelta(days=1)
            self.sample(day, bad.get("place", "tap"), bad["rows"], number="X")

    def _calendar(self, fitted: date) -> list[tuple[str, date]]:
        site, days = self.site, []
        for year in range(fitted.year, self.today.year + 1):
            if site.opens_month and site.opens_day and site.closes_month and site.closes_day:
                days.append(("opening", day_of_year(year, site.opens_month, site.opens_day)))
                days.append(("closing", day_of_year(year, site.closes_month, site.closes_day)))
            else:
                days.append(("service", day_of_year(year, fitted.month, min(fitted.day, 28))))
        return [(kind, day) for kind, day in sorted(days, key=lambda row: row[1]) if fitted < day <= self.today]

    def _last_words(self) -> None:
        """Messages of the past were sent in the past; only those of the last week wait in the outbox."""
        old = Message.objects.filter(site=self.site, state=MessageState.QUEUED, queued_at__lt=self.at(self.ago(7)))
        for message in old:
            message.state, message.sent_at = MessageState.SENT, message.queued_at + timedelta(minutes=2)
            message.save(update_fields=["state", "sent_at"])
