"""One real thing behind every address, and everybody who might knock.

The garden, its visit and its papers belong to one client and one crew; a second client and a second crew exist to be
kept out.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.test import Client as Browser
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from business import clock
from business.models import Licence, Staff, StaffSession
from business.models.ledger import LedgerAccount
from business.models.payment_reminders import ReminderHold
from business.services.archive import Paper, archive
from business.services.client_links import CALENDAR, link_token, stop_token
from business.services.quote_links import quote_token
from business.services.quotes import send_quote
from gardens.models import Photo
from gardens.services.support_records import SupportFact, write_support_record
from scheduling.models import ClientAsk, FieldAct, Phone, Plan, PlanRun, SeasonReview, Visit, VisitReport
from scheduling.services.calendars import calendar_address
from tests import make, make_garden
from tests.gardens.services.stations import station

PEOPLE = {
    "O": "owner",
    "F": "office",
    "A": "accountant",
    "L": "crew lead",
    "C": "crew",
    "X": "another crew",
    "K": "client by link",
    "Q": "another client by link",
    "S": "stranger",
}
HERE = "OFALCX"
"""Those who are signed in."""
PRICE = Decimal("987.65")
"""Easy to find where it should not stand."""

EMPTY_OFFER: dict[str, Any] = {
    "marks": [],
    "notes": [],
    "travel": [],
    "changes": {},
    "unplaced": {},
    "looked_at": [],
    "tell": [],
    "basis": {"visits": {}, "days": {}},
    "rounds_before": {},
    "rounds_after": {},
}
"""A plan that moves nothing."""


@dataclass
class World:
    """``arguments``: what stands in the places of an address, by the address's name or by the place's."""

    arguments: dict[str, Any] = field(default_factory=dict)
    keys: dict[str, str] = field(default_factory=dict)
    digest: str = "0" * 64

    def address(self, name: str, places: tuple[str, ...]) -> str:
        special = self.arguments.get(name, {})
        return reverse(name, kwargs={place: special.get(place, self.arguments.get(place)) for place in places})

    def browser(self, who: str, **more: Any) -> Browser:
        """A fresh one with the session of that person, so that nothing one request does is seen by the next."""
        browser = Browser(raise_request_exception=False, **more)
        if who in self.keys:
            browser.cookies["sessionid"] = self.keys[who]
        return browser


def places_of_addresses() -> dict[str, tuple[str, ...]]:
    """Every named address of the program with the names of its places."""
    found: dict[str, tuple[str, ...]] = {}

    def walk(resolver: URLResolver) -> None:
        for entry in resolver.url_patterns:
            if isinstance(entry, URLResolver):
                walk(entry)
            elif isinstance(entry, URLPattern):
                found[entry.name or str(entry.pattern)] = tuple(entry.pattern.converters)

    walk(get_resolver())
    return found


def build_world() -> World:
    make.profile()
    world = World()
    staff = _people(world)
    rosa = make.client(name="Rosa Quill", email="rosa@example.com")
    otto = make.client(name="Otto Brand", email="otto@example.com")
    for who, client in (("K", rosa), ("Q", otto)):
        browser = Browser()
        browser.get(reverse("link-open", args=[link_token(client)]))
        world.keys[who] = browser.session.session_key
    crew = make_garden.crew(members=(staff["L"], staff["C"]))
    make_garden.crew(members=(staff["X"],))
    _garden(world, rosa, crew, staff)
    _books(world, rosa, staff)
    return world


def _people(world: World) -> dict[str, Staff]:
    roles = {"O": "owner", "F": "office", "A": "accountant", "L": "crew_lead", "C": "crew", "X": "crew"}
    staff = {who: make.staff(role=role, name=PEOPLE[who].capitalize()) for who, role in roles.items()}
    for who, person in staff.items():
        browser = Browser()
        browser.force_login(person)
        world.keys[who] = browser.session.session_key
    return staff


def _garden(world: World, rosa: Any, crew: Any, staff: dict[str, Staff]) -> None:
    site = make_garden.site(client=rosa, name="Quill House", access_notes="Gate code 4711")
    support = make_garden.support(site=site)
    tree = make_garden.tree(support=support, label="Pear by the door")
    need = make_garden.need(tree=tree)
    on = clock.now().date() + timedelta(days=1)
    visit = make_garden.visit(needs=(need,), on=on, crew=crew, site=site)
    done = make_garden.visit(on=date(2026, 3, 3), crew=crew, site=site)
    done.state, done.finished_at = Visit.State.FINISHED, make_garden.utc(2026, 3, 3, 15)
    done.save()
    paper = Paper(kind="visit_report", reference=f"visit:{done.pk}", file_name="report.pdf", content=b"%PDF-1.7")
    VisitReport.objects.create(visit=done, document=archive(paper, client=rosa), written_at=clock.now())
    photo = Photo.objects.create(
        site=site, tree=tree, digest=world.digest, taken_at=clock.now(), made_by=staff["C"], width_px=1, height_px=1
    )
    for name in ("file", "small"):
        getattr(photo, name).save("photo.jpg", _bytes(), save=True)
    ask = ClientAsk.objects.create(client=rosa, visit=visit, kind="move", words="Friday", made_at=clock.now())
    phone = Phone.objects.create(staff=staff["C"], first_seen_at=clock.now(), last_seen_at=clock.now())
    act = FieldAct.objects.create(
        uid=uuid.uuid4(),
        phone=phone,
        author=staff["C"],
        kind="extra",
        visit=visit,
        body={"value": {"words": "Cut the hedge"}},
        body_digest=world.digest,
        happened_at=clock.now(),
        received_at=clock.now(),
        result="accepted",
        is_open=True,
    )
    plan = Plan.objects.create(
        made_at=clock.now(), made_by=staff["O"], first_day=on, last_day=on, state="offered", offer=EMPTY_OFFER
    )
    PlanRun.objects.create(plan=plan, question={"kind": "rain"}, seconds=1.0, queued_at=clock.now())
    sag = SupportFact(on=date(2026, 2, 1), kind="measured", what="sag", part="wire:1", value=12.0)
    told = write_support_record(support=support, fact=sag, by=staff["F"])
    world.arguments |= {
        "site_id": site.pk,
        "support_id": support.pk,
        "tree_id": tree.pk,
        "need_id": need.pk,
        "visit_id": visit.pk,
        "round_id": visit.round_id,
        "task_id": visit.work_order.tasks.get().pk,
        "crew_id": crew.pk,
        "record_id": make_garden.record(tree=tree).pk,
        "station_id": station().pk,
        "uid": photo.uid,
        "digest": world.digest,
        "ask_id": ask.pk,
        "act_id": act.pk,
        "plan_id": plan.pk,
        "year": 2027,
        "on": on.isoformat(),
        "species_id": "apple_spur",
        "form_id": "horizontal_tiers",
        "origin": "stone",
        "rule_id": "silver_leaf",
        "support-record-withdraw": {"record_id": told.pk},
        "garden-report": {"visit_id": done.pk},
        "visit-report": {"visit_id": done.pk},
        "crew-calendar": {"token": calendar_address(crew).rpartition("/")[2].removesuffix(".ics")},
        "garden-calendar": {"token": link_token(rosa, CALENDAR)},
        "link-open": {"token": link_token(rosa)},
        "mail-stop": {"token": stop_token(rosa, "reminder")},
    }


def _books(world: World, rosa: Any, staff: dict[str, Staff]) -> None:
    quote = send_quote(quote=make.quote(client=rosa))
    account = LedgerAccount.objects.create(role="money", number="1200", name="Bank")
    hold = ReminderHold.objects.create(client=rosa, reason="They ring on Friday", made_at=clock.now())
    review = Paper(kind="season_review", reference=f"client:{rosa.pk}:2027", file_name="2027.pdf", content=b"%PDF-1.7")
    SeasonReview.objects.create(client=rosa, year=2027, document=archive(review, client=rosa), made_at=clock.now())
    licence = Licence.objects.create(name="Spraying certificate", valid_until=date(2027, 6, 1))
    world.arguments |= {
        "client_id": rosa.pk,
        "agreement_id": make.agreement(client=rosa, hour_price=PRICE).pk,
        "charge_id": make.charge(client=rosa, unit_price=PRICE).pk,
        "price_list_id": make.price(net_price=PRICE).price_list.pk,
        "invoice_id": make.invoice(client=rosa, amounts=(str(PRICE),)).pk,
        "invoice-change": {"invoice_id": make.draft(client=make.client()).pk},
        "invoice-issue": {"invoice_id": make.draft(client=make.client()).pk},
        "quote_id": quote.pk,
        "quote-answer": {"token": quote_token(quote)},
        "quote-answer-pdf": {"token": quote_token(quote)},
        "message_id": make.message(client=rosa).pk,
        "document_id": archive(Paper(kind="invoice", reference="x", file_name="x.pdf", content=b"%PDF")).pk,
        "licence_id": licence.pk,
        "account_id": account.pk,
        "hold_id": hold.pk,
        "syntax": "ubl",
        "books-table": {"name": "journal"},
        "person_id": staff["C"].pk,
        "session_id": StaffSession.objects.get(staff=staff["F"]).pk,
    }


def _bytes() -> Any:
    from django.core.files.base import ContentFile

    return ContentFile(b"\xff\xd8\xff\xd9")
