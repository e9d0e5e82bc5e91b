"""Season reviews: what stands in them, made once, kept, mailed once, and who may ask for them."""

from __future__ import annotations

import io
import re
from datetime import date, timedelta
from decimal import Decimal

import pikepdf
import pytest
from django.urls import reverse

from business import clock
from business.documents.pdf import render
from business.errors import BadInput
from business.models import ArchivedDocument, Message
from business.services.archive import content_of
from business.services.quotes import send_quote
from scheduling.documents.season_review import review_paper
from scheduling.models import SeasonReview, Task, Visit
from scheduling.queries.season_reviews import clients_with_visits, season_days, season_seen
from scheduling.services.season_reviews import ask_for_all, mail_review, make_one_of_all, make_review
from tests import make, make_garden
from tests.business.documents.papers import fonts_of, is_sound, text_of
from tests.make_garden import utc
from tests.scheduling.documents.test_reports import BAD, photo, picture

pytestmark = pytest.mark.django_db

YEAR = 2026
DAY = date(2026, 3, 3)


@pytest.fixture
def tree():
    make.profile()
    who = make.client(name="Hale", greeting="Dear Mrs Hale")
    support = make_garden.support(site=make_garden.site(client=who, name="Vale House"))
    return make_garden.tree(support=support, label="Pear 3", species="pear_european")


@pytest.fixture
def visit(tree):
    return finished(tree, DAY)


@pytest.fixture
def client_of(tree):
    return tree.site.client


def finished(tree, on):
    row = make_garden.visit(needs=(make_garden.need(tree=tree), make_garden.need(tree=tree)), on=on)
    Task.objects.filter(work_order__visit=row).update(state="done", answered_at=utc(2026, 3, 3))
    Visit.objects.filter(pk=row.pk).update(
        state="finished", finished_at=utc(on.year, on.month, on.day, 15), minutes_taken=90
    )
    return row


def words_of(made, folder) -> str:
    return " ".join(text_of(render(made.html, paper=made.paper), folder).split())


def told(made) -> str:
    """The words in the order they are read; on the page the large numbers stand above theirs."""
    return " ".join(re.sub(r"<style>.*?</style>|<[^>]+>", " ", made.html, flags=re.DOTALL).split())


def test_the_year_is_told_in_pictures_and_numbers(tree, visit, client_of, tmp_path):
    make.agreement(client=client_of, basis="by_visit", visit_price=Decimal(120), travel_price=Decimal(14))
    make_garden.record(tree=tree, kind="seen", what="fruit_count", limb="whole", value=41.0, on=date(2026, 7, 1))
    make_garden.record(tree=tree, kind="done", what="pick", limb="whole", value=12.4, on=date(2026, 9, 20))
    make_garden.need(
        tree=tree, kind="summer_prune", opens=date(2027, 7, 1), best_from=date(2027, 7, 20),
        best_until=date(2027, 8, 20), closes=date(2027, 9, 1),
    )  # fmt: skip
    made = review_paper(client_of, YEAR)
    text = told(made)
    assert "Season 2026" in words_of(made, tmp_path)
    for wanted in (
        "Season 2026", "Hale", "1 visit", "2 jobs done", "41 fruits counted", "12 kg picked", "We came on 3 March.",
        "Winter prune", "Pear 3", "What we propose for the season 2027", "Summer prune", "20 Jul – 20 Aug 2027",
        "about £134.00",
    ):  # fmt: skip
        assert wanted in text, wanted
    assert "hours in your garden" not in text


def test_hours_and_pounds_follow_business_and_client(tree, visit, client_of):
    make.profile(reports_show_minutes=True)
    make_garden.record(tree=tree, kind="done", what="pick", limb="whole", value=12.4, on=date(2026, 9, 20))
    client_of.units = "imperial"
    text = told(review_paper(client_of, YEAR))
    # 12.4 kg / 0.45359237 = 27.3 lb (international pound, 1959).
    assert "27 lb picked" in text
    assert "2 hours in your garden" in text


def test_an_offer_on_the_table_is_the_price_proposed(tree, visit, client_of, tmp_path):
    offer = send_quote(quote=make.quote(client=client_of, title="A third row"))
    text = words_of(review_paper(client_of, YEAR), tmp_path)
    assert offer.number in text
    assert "A third row" in text


def test_a_season_at_a_fixed_price_says_so(tree, visit, client_of, tmp_path):
    make.agreement(client=client_of, basis="season_fixed", season_price=Decimal(489), instalments=12)
    text = words_of(review_paper(client_of, YEAR), tmp_path)
    assert "£489.00" in text
    assert "in 12 instalments" in text


@pytest.mark.parametrize(("paper", "width"), [("A4", 595), ("Letter", 612)])
def test_the_paper_is_tagged_embedded_and_light(tree, visit, client_of, paper, width, tmp_path):
    client_of.paper = paper
    for number in range(3):
        other = make_garden.tree(support=tree.support, position_mm=3500 + 900 * number)
        for pair in ("before", "after"):
            photo(visit, other, pair, picture((1600, 1200)))
    for pair in ("before", "after"):
        photo(visit, tree, pair, picture((1600, 1200)))
    made = review_paper(client_of, YEAR)
    assert made.html.count("data:image/jpeg") == 8
    content = render(made.html, paper=made.paper)
    assert len(content) < 2_000_000
    assert is_sound(content, tmp_path)
    assert all(font.is_embedded for font in fonts_of(content, tmp_path))
    with pikepdf.open(io.BytesIO(content)) as pdf:
        assert int(pdf.pages[0].MediaBox[2]) == width
        assert "/StructTreeRoot" in pdf.Root
        assert pdf.Root.MarkInfo.Marked
        assert str(pdf.Root.Lang) == "en-GB"
    # The cover is one page: the second one begins with the letter.
    assert "Your year in the garden" in text_of(content, tmp_path).split("\f")[1]


@pytest.mark.parametrize("field", ["client", "site", "tree", "words"])
def test_html_in_any_text_is_shown_as_text(tree, visit, client_of, field, tmp_path):
    if field == "client":
        client_of.name = BAD
    elif field == "site":
        tree.site.name = BAD
        tree.site.save()
    elif field == "tree":
        tree.label = BAD[:80]
        tree.save()
    made = review_paper(client_of, YEAR, BAD if field == "words" else "")
    assert "<script" not in made.html
    assert "<imgsrc=" in words_of(made, tmp_path).replace(" ", "")


def test_seasons_run_from_leaf_fall_to_leaf_fall():
    assert season_days(2026, is_southern=False) == (date(2025, 11, 1), date(2026, 10, 31))
    assert season_days(2026, is_southern=True) == (date(2026, 5, 1), date(2027, 4, 30))


def test_only_the_clients_own_season_counts(tree, visit, client_of):
    finished(tree, date(2025, 10, 31))
    finished(tree, date(2025, 11, 1))
    stranger = make_garden.tree()
    finished(stranger, DAY)
    assert len(season_seen(client_of, YEAR).visits) == 2
    assert {row.pk: row.visits for row in clients_with_visits(YEAR)} == {
        client_of.pk: 2,
        stranger.site.client_id: 1,
    }
    assert not clients_with_visits(2024).exists()


def test_a_review_is_kept_and_a_changed_one_is_a_new_version(visit, client_of):
    first = make_review(client=client_of, year=YEAR)
    assert content_of(first.document).startswith(b"%PDF")
    SeasonReview.objects.update(words="A dry summer, and how well they stood it.")
    second = make_review(client=client_of, year=YEAR)
    assert (second.pk, second.document.version) == (first.pk, 2)
    with pytest.raises(BadInput, match="no visit"):
        make_review(client=client_of, year=2024)


def test_the_mail_goes_once_and_only_to_who_wants_it(visit, client_of):
    with pytest.raises(BadInput, match="make it first"):
        mail_review(client=client_of, year=YEAR)
    for _ in range(2):
        make_one_of_all(client_id=client_of.pk, year=YEAR, mails=True)
    assert Message.objects.filter(key=f"season_review:{client_of.pk}:{YEAR}").count() == 1
    client_of.stopped_kinds = ["season_letter"]
    client_of.save()
    Message.objects.all().delete()
    assert mail_review(client=client_of, year=YEAR) is None


def test_one_press_makes_them_all(visit, at_owner, django_capture_on_commit_callbacks):
    finished(make_garden.tree(), DAY)
    with django_capture_on_commit_callbacks(execute=True):
        answer = at_owner.post(reverse("season-reviews-make", args=[YEAR]), {"mails": "on"})
    assert answer.status_code == 302
    assert ArchivedDocument.objects.filter(kind="season_review").count() == 2
    assert Message.objects.filter(kind="season_letter").count() == 2
    assert ask_for_all(year=2024, mails=False) == 0


def test_the_pages_show_make_store_and_mail(visit, client_of, at_owner):
    listed = at_owner.get(reverse("season-reviews", args=[YEAR])).content.decode()
    assert "Hale" in listed
    assert "not made yet" in listed
    address = reverse("season-review", args=[YEAR, client_of.pk])
    assert "Make the review" in at_owner.get(address).content.decode()
    assert at_owner.get(reverse("season-review-pdf", args=[YEAR, client_of.pk])).content.startswith(b"%PDF")
    act = reverse("season-review-act", args=[YEAR, client_of.pk])
    assert at_owner.post(act, {"act": "mail"}).status_code == 422
    assert at_owner.post(act, {"act": "dance"}).status_code == 404
    assert at_owner.post(act, {"act": "make", "words": "A good year."}).status_code == 302
    assert SeasonReview.objects.get().words == "A good year."
    assert at_owner.post(act, {"act": "mail"}).status_code == 302
    assert Message.objects.filter(kind="season_letter").count() == 1
    assert at_owner.get(reverse("season-reviews", args=[1999])).status_code == 404


def test_reviews_name_prices_and_are_for_who_sees_them(visit, client_of, client, crew, accountant):
    from tests.conftest import make_staff

    for person in (crew, accountant, make_staff("nell", "office")):
        client.force_login(person)
        for name, places in (
            ("season-reviews", [YEAR]),
            ("season-review", [YEAR, client_of.pk]),
            ("season-review-pdf", [YEAR, client_of.pk]),
        ):
            assert client.get(reverse(name, args=places)).status_code == 404
        assert client.post(reverse("season-reviews-make", args=[YEAR])).status_code == 404


def test_a_running_season_shows_the_garden_as_it_stands_now(tree, client_of):
    finished(tree, clock.now().date() - timedelta(days=1))
    year = season_seen(client_of, YEAR).year
    assert review_paper(client_of, year + 1).html
