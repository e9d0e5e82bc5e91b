"""The year at a site and the pages of stations: what they show, whom they let in, what they refuse."""

from __future__ import annotations

import re
from datetime import date, timedelta
from xml.etree import ElementTree

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from business.models import Staff
from gardens.models import DailyWeather, WeatherStation
from gardens.services.weather import MOST_BYTES, store_days
from tests import make, make_garden
from tests.gardens.services.stations import mild_days, station

pytestmark = pytest.mark.django_db
TODAY = date(2027, 4, 10)


@pytest.fixture(autouse=True)
def today(time_machine):
    time_machine.move_to("2027-04-10 09:00:00+00:00", tick=False)


@pytest.fixture
def office(client):
    make.profile(climate_profile="")
    client.force_login(make.staff(role=Staff.Role.OFFICE))
    return client


@pytest.fixture
def garden():
    where = make_garden.site(name="Mill <House>", station=station(code="moor"), climate_profile="")
    row = make_garden.support(site=where)
    make_garden.tree(support=row)
    make_garden.tree(support=row, position_mm=6000, species="plum_european", form="fan", rootstock="", label="Plum")
    return where


def year_page(client, site, **query):
    return client.get(reverse("site-year", args=[site.pk]), query).content.decode()


def bring(client, place, **sent):
    return client.post(reverse("station-bring", args=[place.pk]), {"lines": "", "units": "", **sent})


def charts(page):
    return [ElementTree.fromstring(svg) for svg in re.findall(r'<svg class="year-chart.*?</svg>', page, re.DOTALL)]  # noqa: S314 - our own page


def test_the_year_is_drawn_against_the_usual(office, garden):
    store_days(station=garden.station, days=mild_days(date(2026, 8, 1), 252))

    page = year_page(office, garden)

    stages, chill, heat = charts(page)
    for curve in (chill, heat):
        paths = {path.get("class"): path.get("d") for path in curve.iter("path")}
        assert {"band", "usual", "this-year", "ground", "today"} <= set(paths)
        assert all(0 <= float(number) <= 720 for number in re.findall(r"[\d.]+", paths["this-year"] or ""))
    words = [text.text for text in stages.iter("text") if text.get("class") == "stage-word"]
    assert "Full bloom" in words
    assert "Full bloom" in page.split("<tbody>")[1]
    assert "From this year" in page
    assert "Mill &lt;House&gt;" in page
    assert "style=" not in page


def test_without_a_station_usual_values_are_shown_and_said(office):
    bare = make_garden.site(climate_profile="")

    page = year_page(office, bare)

    assert "No station; usual values of this place." in page
    assert "No days are known here." in page
    assert "No tree stands here yet." in page
    assert "this-year" not in page
    assert "coldest month" in page.lower()


def test_a_sum_past_the_usual_whole_is_not_called_usual(office, garden):
    store_days(station=garden.station, days=mild_days(date(2025, 8, 1), 430, warmer=4.0))

    heat = year_page(office, garden, year="2026").split("Warmth of the growing season")[1]

    assert "That is more than a whole usual year brings." in heat
    assert "What the weather brings" not in heat  # a year that is over warns of nothing


def test_a_species_and_another_year_can_be_chosen(office, garden):
    page = year_page(office, garden, species="plum_european", year="2026")

    assert "The year 2026" in page
    assert "Stages of plum, European" in page
    for wrong in ({"year": "9999"}, {"year": "soon"}, {"species": "unicorn"}):
        assert "The year 2027" in year_page(office, garden, **wrong)


def test_a_coming_frost_is_told_with_its_trees(office, garden):
    store_days(station=garden.station, days=mild_days(date(2026, 8, 1), 252))
    tree = garden.trees.get(label="Plum")
    make_garden.record(tree=tree, on=TODAY, kind="seen", what="stage", limb="whole", value=None, text="full_bloom")

    bring(office, garden.station, lines="date,tmin,tmax\n2027-04-12,-5,6")
    told = year_page(office, garden).split("What to mind now")[1].split("</section>")[0]

    assert "Frost on buds" in told
    assert "12 April 2027" in told
    assert "Plum" in told
    assert "Source:" in told


def test_the_office_chooses_the_station_by_distance_and_height(office, garden):
    near = station(code="hill", elevation_m=120.0)
    page = year_page(office, garden)
    assert "Hill: 1 km away, 100 m higher" in page

    office.post(reverse("site-station", args=[garden.pk]), {"station": near.pk})

    garden.refresh_from_db()
    assert garden.station == near
    assert "Moor lies nearest at about this height." in year_page(office, garden)
    refused = office.post(reverse("site-station", args=[garden.pk]), {"station": "987654"})
    assert refused.status_code == 422
    office.post(reverse("site-station", args=[garden.pk]), {"station": ""})
    garden.refresh_from_db()
    assert garden.station is None


def test_a_station_is_added_and_its_days_brought_in(office):
    sent = {"code": "moor", "name": "Moor", "latitude_deg": "51", "longitude_deg": "-2.8", "elevation_m": "12"}
    office.post(reverse("station-new"), sent)
    place = WeatherStation.objects.get(code="moor")
    rows = "\n".join(f"{date(2027, 3, 1) + timedelta(days=step)},2,9,0" for step in range(20) if step not in (5, 6))

    answer = bring(office, place, file=SimpleUploadedFile("march.csv", f"date,tmin,tmax,rain\n{rows}\n".encode()))

    page = answer.content.decode()
    assert answer.status_code == 200
    assert "18 days added" in page
    assert "2 days lack a temperature, in 1 gaps." in page
    assert reverse("season") in page
    assert DailyWeather.objects.count() == 18


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"lines": "date,tmin,tmax\n2027-04-01,9,3\n2027-04-02,x,3"}, ["row 2", "row 3"]),
        ({"lines": ""}, ["one of the two"]),
        ({"lines": "date,tmin,tmax\n2027-04-01,40,60\n2027-04-02,45,70\n2027-04-03,44,68"}, ["°F"]),
        ({"file": SimpleUploadedFile("big.csv", b"x" * (MOST_BYTES + 1))}, ["larger than 8 MB"]),
        ({"file": SimpleUploadedFile("picture.csv", b"\x89PNG\x00\xff")}, ["picture.csv"]),
        ({"lines": "date,tmin,tmax\n" + "2027-04-01,9,3\n" * 100}, ["more faults"]),
    ],
)
def test_wrong_days_are_refused_by_row(office, sent, words):
    place = station()

    answer = bring(office, place, **sent)

    assert answer.status_code == 422
    assert all(word in answer.content.decode() for word in words)
    assert not DailyWeather.objects.exists()


def test_a_station_code_is_used_once(office):
    station(code="moor")
    sent = {"code": "moor", "name": "Moor", "latitude_deg": "51", "longitude_deg": "-2.8", "elevation_m": "12"}

    answers = [office.post(reverse("station-new"), {**sent, **wrong}) for wrong in ({}, {"latitude_deg": "95"})]

    assert [answer.status_code for answer in answers] == [422, 422]
    assert "code of another station" in answers[0].content.decode()
    assert WeatherStation.objects.count() == 1


def test_a_crew_sees_no_page_of_the_gardens_weather(client, garden):
    client.force_login(make.staff(role=Staff.Role.CREW))

    assert client.get(reverse("site-year", args=[garden.pk])).status_code == 404
    assert client.post(reverse("site-station", args=[garden.pk]), {"station": ""}).status_code == 404
    assert client.get(reverse("stations")).status_code == 404
    assert client.get(reverse("station", args=[garden.station_id])).status_code == 404
    assert bring(client, garden.station, lines="x").status_code == 404
    assert client.post(reverse("station-new"), {}).status_code == 404


def test_an_accountant_and_a_stranger_see_no_weather(client, garden):
    pages = [
        reverse("site-year", args=[garden.pk]),
        reverse("stations"),
        reverse("station", args=[garden.station_id]),
    ]
    assert {client.get(page).status_code for page in pages} == {302}
    client.force_login(make.staff(role=Staff.Role.ACCOUNTANT))
    assert {client.get(page).status_code for page in pages} == {404}


@pytest.mark.parametrize("trees", [1, 10])
def test_a_year_takes_the_same_queries_however_many_trees(office, django_assert_max_num_queries, trees):
    where = make_garden.site(station=station())
    store_days(station=where.station, days=mild_days(date(2026, 8, 1), 252))
    row = make_garden.support(site=where, length_mm=60_000)
    for number in range(trees):
        make_garden.tree(support=row, position_mm=2000 + 4000 * number)

    with django_assert_max_num_queries(18):
        year_page(office, where)


def test_the_list_of_stations_takes_few_queries(office, django_assert_max_num_queries):
    for _ in range(6):
        store_days(station=station(), days=mild_days(date(2027, 1, 1), 5))

    with django_assert_max_num_queries(8):
        page = office.get(reverse("stations")).content.decode()
    assert page.count("5 days") == 6
