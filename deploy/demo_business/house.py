"""The invented business itself: who it is, who works there, what it asks."""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal

from business.models import Client, Staff
from business.services.agreements import save_agreement
from business.services.prices import save_price_list, set_price, set_tax_rate
from business.services.profile import save_profile
from business.services.staff import add_staff
from deploy.demo_business.people import YARD
from scheduling.models import Crew, CrewMember

PASSWORD = "espalier and ladder"  # noqa: S105 - the public password of an invented business
PEOPLE = (
    ("ruth", "Ruth Hollin", Staff.Role.OWNER, None),
    ("owen", "Owen Pryce", Staff.Role.OFFICE, None),
    ("tamsin", "Tamsin Reed", Staff.Role.CREW_LEAD, "alder"),
    ("joe", "Joe Whitlock", Staff.Role.CREW, "alder"),
    ("bea", "Bea Marchant", Staff.Role.CREW_LEAD, "birch"),
    ("sol", "Sol Tregear", Staff.Role.CREW, "birch"),
    ("hana", "Hana Iqbal", Staff.Role.CREW_LEAD, "cherry"),
    ("lew", "Lew Padgett", Staff.Role.CREW, "cherry"),
)
CREWS = (
    ("alder", "Alder", ["ladder", "chainsaw"], "1111100", time(8, 0), time(16, 30)),
    ("birch", "Birch", ["ladder", "spraying"], "1111100", time(8, 0), time(16, 30)),
    ("cherry", "Cherry", ["ladder"], "1111000", time(8, 30), time(16, 0)),
)
PRICES = (
    ("hour", "Work of one person", "hour", "38.00"),
    ("travel", "Travel, each visit", "visit", "14.00"),
    ("tie_soft_tube", "Soft tube tie", "metre", "0.45"),
    ("straining_wire", "Galvanised wire 2.5 mm", "metre", "0.60"),
    ("straining_wire-2mm", "Galvanised wire 2 mm", "metre", "0.45"),
    ("stay_wire", "Stay wire", "metre", "0.85"),
    ("tensioner", "Wire tensioner", "piece", "3.40"),
    ("wire_grip", "Wire grip", "piece", "2.60"),
    ("wire_joiner", "Wire joiner", "piece", "0.90"),
    ("vine_eye", "Vine eye", "piece", "1.10"),
    ("eye_bolt", "Eye bolt", "piece", "2.80"),
    ("screw_eye", "Screw eye", "piece", "0.95"),
    ("plastic_plug", "Wall plug", "piece", "0.12"),
    ("sleeve", "Sleeve anchor", "piece", "1.25"),
    ("resin_stud", "Threaded stud with resin", "piece", "4.60"),
    ("staple", "Fence staple", "kilogram", "6.50"),
    ("line_post", "Line post", "piece", "11.50"),
    ("end_post", "End post", "piece", "22.00"),
    ("brace_post", "Brace post", "piece", "22.00"),
    ("brace_rail", "Brace rail", "piece", "14.00"),
    ("screw_anchor", "Screw anchor", "piece", "26.00"),
    ("cane_2400", "Cane 2.4 m", "piece", "1.30"),
    ("young_tree", "Young tree, bare-root", "tree", "32.00"),
)


def set_up_house(*, as_of: date) -> Staff:
    """Profile, tax, prices, people and crews; the owner comes back."""
    save_profile(
        name="Hollin & Pryce",
        legal_name="Hollin & Pryce Trained Fruit Ltd",
        address="The Pound House\nQuenby\nQN4 2ZZ",
        country="GB",
        email="office@hollin-pryce.example.com",
        phone="01632 960011",
        zone="Europe/London",
        currency="GBP",
        tax_label="VAT",
        tax_number="GB 999 9999 73",
        payment_lines="Bank transfer to Hollin & Pryce\nSort code 00-00-00, account 00000000",
        payment_terms_days=30,
        invoice_prefix="HP-",
        latitude=Decimal(str(YARD[0])),
        longitude=Decimal(str(YARD[1])),
        climate_profile="maritime",
        emergency_number="999 or 112",
    )
    # Value Added Tax Act 1994, section 2: 20 % since 4 January 2011.
    set_tax_rate(treatment="standard", valid_from=date(2011, 1, 4), percent=Decimal(20), source="VAT Act 1994, s. 2")
    prices = save_price_list(name="Prices", is_standard=True)
    for code, text, unit, price in PRICES:
        set_price(
            price_list=prices,
            code=code,
            valid_from=date(as_of.year - 2, 1, 1),
            text=text,
            unit=unit,
            net_price=Decimal(price),
        )
    return _people()


def _people() -> Staff:
    crews = {
        code: Crew.objects.create(
            code=code,
            name=name,
            size=2,
            skills=skills,
            yard_latitude_deg=YARD[0],
            yard_longitude_deg=YARD[1],
            time_zone="Europe/London",
            working_week=week,
            starts=starts,
            ends=ends,
        )
        for code, name, skills, week, starts, ends in CREWS
    }
    owner = None
    for username, name, role, crew in PEOPLE:
        person = add_staff(
            username=username,
            name=name,
            role=role,
            password=PASSWORD,
            email=f"{username}@hollin-pryce.example.com",
            sees_prices=role in Staff.OFFICE_ROLES,
        )
        owner = owner or person
        if crew:
            CrewMember.objects.create(crew=crews[crew], staff=person, is_lead=role == Staff.Role.CREW_LEAD)
    assert owner is not None  # noqa: S101 - PEOPLE begins with the owner
    return owner


def agree_with_clients(*, as_of: date) -> None:
    """Most clients pay by the hour, some for each visit, a few for the season."""
    begins = date(as_of.year - 2, 1, 1)
    for number, client in enumerate(Client.objects.order_by("code")):
        if number % 7 == 3:
            save_agreement(
                client=client, valid_from=begins, basis="season_fixed", season_price=Decimal("960.00"), instalments=4
            )
        elif number % 4 == 1:
            save_agreement(client=client, valid_from=begins, basis="by_visit", visit_price=Decimal("145.00"))
        else:
            save_agreement(
                client=client,
                valid_from=begins,
                basis="by_hour",
                hour_price=Decimal("38.00"),
                travel_price=Decimal("14.00"),
                minimum_charge=Decimal("60.00"),
            )
