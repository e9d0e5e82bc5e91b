"""What a garden does to a phone: dead links, portals, full disks, old sign-ins, killed pages, two of everything."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from PIL import ExifTags, Image
from playwright.sync_api import expect

from business import clock
from gardens.models import Photo
from scheduling.field import shell
from scheduling.models import CrewMember, FieldAct, Phone, Task
from tests import make_garden
from tests.browser.field import acts, open_field, open_tree, small_day, stored, tick
from tests.browser.persistent_phone import NOTES
from tests.browser.windows import Windows
from tests.conftest import PASSWORD

UNSENT = "not sent yet"


@pytest.fixture
def visit(crew):
    return small_day(crew)[0]


@pytest.fixture
def tasks(visit):
    return list(visit.work_order.tasks.order_by("pk"))


@pytest.fixture
def page(open_page, crew, visit):
    return open_field(open_page, crew)


def send_now(page):
    page.get_by_role("button", name="Send now").first.click()


def expect_statuses(open_page, *statuses):
    """The test provokes these answers, so the window does not complain of them."""
    open_page.__self__.expected_statuses.update(statuses)


def level(page):
    expect(page.locator(".band.is-level")).to_be_visible(timeout=20_000)


def test_the_tool_cuts_page_and_worker_off(page):
    """A probe: if a new version of the tool no longer cut off workers, the other tests would prove nothing."""
    page.context.set_offline(True)
    assert page.evaluate("navigator.onLine") is False
    assert page.evaluate("fetch('/field/hello').then(() => 'reached', () => 'cut')") == "cut"
    (worker,) = page.context.service_workers
    assert worker.evaluate("fetch('/field/hello').then(() => 'reached', () => 'cut')") == "cut"


def test_a_lost_answer_does_not_double_a_tick(page, visit, tasks):
    lost = []

    def lose(route):
        if lost:
            return route.continue_()
        lost.append(route.fetch().status)
        return route.abort()

    page.context.route("**/field/acts", lose)
    open_tree(page, visit)
    with page.expect_event("requestfailed"):
        tick(page, tasks[0].pk)
    expect(page.locator(".band")).to_contain_text(UNSENT, timeout=10_000)
    assert acts() == 1
    send_now(page)
    level(page)
    assert lost == [200]
    assert acts() == 1
    assert stored(page)[0]["receipt"]["result"] == "already_had"


def test_a_portals_page_never_passes_for_a_receipt(page, visit, tasks):
    page.context.route(
        "**/field/*",
        lambda route: route.fulfill(status=200, content_type="text/html", body="<h1>Welcome to Wi-Fi</h1>"),
    )
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    expect(page.locator(".band")).to_contain_text(UNSENT, timeout=10_000)
    page.wait_for_timeout(500)
    assert [act["receipt"] for act in stored(page)] == [None]
    page.context.unroute("**/field/*")
    send_now(page)
    level(page)
    assert acts() == 1


def test_an_empty_answer_is_not_a_receipt(page, visit, tasks):
    page.context.route("**/field/acts", lambda route: route.fulfill(json={"receipts": [], "server_time": "x"}))
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    expect(page.locator(".band")).to_contain_text(UNSENT, timeout=10_000)
    assert stored(page)[0]["receipt"] is None


def test_bars_without_internet_wait_longer_each_time(page, visit, tasks):
    page.clock.install()
    asked = []

    def refuse(route):
        asked.append(route.request.url)
        return route.abort()

    page.context.route("**/field/*", refuse)
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    page.clock.run_for(2_100)
    expect(page.locator(".band")).to_contain_text(UNSENT)
    assert page.evaluate("navigator.onLine") is True
    counts = []
    for seconds in (7, 19, 55):
        page.clock.run_for(seconds * 1000)
        page.wait_for_timeout(150)
        counts.append(len(asked))
    assert counts[0] >= 2
    assert counts == sorted(counts)
    assert counts[-1] <= 7


def test_a_hanging_link_is_given_up_and_tried_again(page, visit, tasks):
    held = []
    page.context.route("**/field/acts", lambda route: held.append(route) if not held else route.continue_())
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    expect(page.locator(".band.is-moving")).to_be_visible(timeout=10_000)
    # Nobody answers: after 15 seconds the page gives up by itself, keeps the act and tries again.
    expect(page.locator(".band")).to_contain_text(UNSENT, timeout=25_000)
    assert stored(page)[0]["receipt"] is None
    send_now(page)
    level(page)
    assert len(held) == 1
    assert acts() == 1


def test_a_refused_act_says_why_and_can_be_mended(page, visit, tasks):
    open_tree(page, visit)
    page.get_by_role("button", name="Measure").click()
    for key in "9999999":
        page.get_by_role("button", name=key, exact=True).click()
    page.get_by_role("button", name="Keep the number").click()
    tick(page, tasks[0].pk)
    expect(page.locator(f"#job-{tasks[0].pk}")).to_contain_text("Office has it", timeout=20_000)
    expect(page.locator(".band.is-refused")).to_be_visible(timeout=20_000)
    assert acts(kind="done") == 1
    page.get_by_role("button", name="See why").click()
    refused = page.locator(".refused")
    expect(refused).to_contain_text("Right would be")
    refused.get_by_label("Put it right").fill("1210")
    refused.get_by_role("button", name="Send it again").click()
    level(page)
    assert acts(kind="measured") == 1
    assert FieldAct.objects.filter(result="refused", is_open=True).count() == 0


def test_an_expired_sign_in_keeps_the_work_and_asks(open_page, page, visit, tasks, crew):
    expect_statuses(open_page, 401, 422)
    page.context.set_offline(True)
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    Session.objects.all().delete()
    page.context.set_offline(False)
    expect(page.locator(".band")).to_contain_text("Sign in to send 1", timeout=20_000)
    tick(page, tasks[1].pk)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_label("Sign-in name").fill(crew.username)
    page.get_by_label("Password").fill("wrong")
    page.locator("#door").get_by_role("button", name="Sign in").click()
    expect(page.locator("#door .complaint")).to_be_visible()
    page.get_by_label("Password").fill(PASSWORD)
    page.locator("#door").get_by_role("button", name="Sign in").click()
    level(page)
    assert acts(kind="done") == 2


def test_a_form_token_that_ran_out_is_renewed_once(open_page, page, visit, tasks):
    expect_statuses(open_page, 403)
    page.context.set_offline(True)
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    # The page's hello would renew the token by itself, so the stale one has to come between hello and acts.
    spoilt = []

    def spoil(route):
        headers = {**route.request.headers, "x-csrftoken": "x" * 32} if not spoilt else route.request.headers
        spoilt.append(1)
        return route.continue_(headers=headers)

    page.context.route("**/field/acts", spoil)
    page.context.set_offline(False)
    level(page)
    assert (len(spoilt), acts(kind="done")) == (2, 1)


def test_another_person_brings_the_first_ones_work(open_page, page, visit, tasks, crew, crew_lead):
    CrewMember.objects.create(crew=visit.round.crew, staff=crew_lead)
    page.context.set_offline(True)
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    page.context.add_cookies([open_page.__self__._session_cookie(crew_lead)])
    page.context.set_offline(False)
    level(page)
    (act,) = FieldAct.objects.all()
    assert (act.author, act.brought_by) == (crew, crew_lead)
    assert Task.objects.get(pk=tasks[0].pk).answered_by == crew


def test_two_phones_on_one_job_end_the_same(open_page, page, visit, tasks, crew_lead):
    CrewMember.objects.create(crew=visit.round.crew, staff=crew_lead)
    other = open_field(open_page, crew_lead)
    for phone in (page, other):
        phone.context.set_offline(True)
        open_tree(phone, visit)
    tick(page, tasks[0].pk)
    job = other.locator(f"#job-{tasks[0].pk}")
    job.locator("summary").click()
    job.locator("select").select_option("weather")
    job.get_by_role("button", name="Keep it").click()
    other.context.set_offline(False)
    level(other)
    page.context.set_offline(False)
    level(page)
    assert Task.objects.get(pk=tasks[0].pk).state == "done"
    assert FieldAct.objects.filter(is_open=True).count() == 2
    other.reload()
    expect(job).to_contain_text("two answers", timeout=20_000)
    expect(other.locator(f"#job-{tasks[0].pk}.is-done")).to_be_visible()


def test_two_windows_of_one_phone_send_once(page, visit, tasks):
    page.context.set_offline(True)
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    second = page.context.new_page()
    second.goto(page.url.partition("#")[0])
    posts = []
    page.context.on("request", lambda request: posts.append(request.url) if request.method == "POST" else None)
    page.context.set_offline(False)
    level(page)
    assert len([url for url in posts if url.endswith("/field/acts")]) == 1
    assert acts() == 1


def test_a_job_taken_off_meanwhile_is_kept(page, visit, tasks):
    page.context.set_offline(True)
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    tasks[0].delete()
    page.context.set_offline(False)
    level(page)
    act = FieldAct.objects.get()
    assert (act.result, act.flags, act.is_open) == ("accepted", ["job_gone"], True)
    expect(page.locator(f"#job-{act.body['task']}")).to_have_count(0, timeout=20_000)


def test_a_stop_moved_to_others_leaves_the_phone(page, visit, tasks):
    page.context.set_offline(True)
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    visit.round.crew = make_garden.crew()
    visit.round.save()
    page.context.set_offline(False)
    level(page)
    expect(page.locator("h1")).to_contain_text("no longer on your round", timeout=20_000)
    assert Task.objects.get(pk=tasks[0].pk).state == "done"
    kept = json.dumps([stored(page, "pack"), stored(page, "drawings")])
    assert "4711" not in kept
    assert "Pear Cottage" not in kept


def test_undo_sent_later_opens_the_job_again(page, visit, tasks):
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    expect(page.locator(f"#job-{tasks[0].pk}")).to_contain_text("Office has it", timeout=20_000)
    assert acts(kind="done") == 1
    page.locator(f"#job-{tasks[0].pk}").get_by_role("button", name="Undo").click()
    expect(page.locator(f"#job-{tasks[0].pk}.is-open")).to_be_visible()
    expect(page.locator(".band")).to_contain_text(UNSENT)
    level(page)
    assert Task.objects.get(pk=tasks[0].pk).state == "open"


def test_a_wrong_clock_is_set_right(open_page, crew, visit, tasks):
    page = open_field(open_page, crew, timezone_id="Australia/Lord_Howe")
    wrong = clock.now() - timedelta(hours=25)
    page.clock.install(time=wrong)
    page.reload()
    page.clock.run_for(5_000)
    page.wait_for_timeout(500)
    open_tree(page, visit)
    page.locator(f"#job-{tasks[0].pk} .do-done").click()
    expect(page.locator(f"#job-{tasks[0].pk}.is-done")).to_be_visible()
    page.clock.run_for(3_000)
    expect(page.locator(f"#job-{tasks[0].pk}")).to_contain_text("Office has it", timeout=20_000)
    act = FieldAct.objects.get()
    assert "clock_off" in act.flags
    assert abs(act.happened_at - clock.now()) < timedelta(minutes=2)
    assert abs(act.device_time - wrong) < timedelta(minutes=2)


SHELLS = "caches.keys().then(names => names.filter(name => name.startsWith('field-shell')))"


def test_a_new_version_waits_until_all_is_sent(page, visit, tasks, monkeypatch):
    old = page.evaluate(SHELLS)
    page.context.set_offline(True)
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    monkeypatch.setattr(shell, "shell_version", lambda: "a-later-version")
    page.context.set_offline(False)
    page.evaluate("navigator.serviceWorker.ready.then(found => found.update()).then(() => true)")
    expect(page.locator(".band.is-renewed")).to_be_visible(timeout=20_000)
    assert acts() == 1
    assert page.evaluate("navigator.serviceWorker.ready.then(found => Boolean(found.waiting))")
    page.get_by_role("button", name="Switch now").click()
    level(page)
    expect(page.locator(f"#job-{tasks[0].pk}.is-done")).to_be_visible(timeout=20_000)
    assert page.evaluate(SHELLS) == ["field-shell-a-later-version"] != old


def test_a_new_version_that_comes_half_changes_nothing(page, visit, tasks, monkeypatch):
    monkeypatch.setattr(shell, "shell_version", lambda: "half-a-version")
    page.context.route("**/static/scheduling/field/tree.js", lambda route: route.abort())
    page.evaluate("navigator.serviceWorker.ready.then(found => found.update()).then(() => true, () => false)")
    page.wait_for_timeout(1500)
    assert not page.evaluate("navigator.serviceWorker.ready.then(found => Boolean(found.waiting))")
    page.context.set_offline(True)
    page.reload()
    open_tree(page, visit)
    tick(page, tasks[0].pk)


def test_a_full_phone_still_ticks(open_page, crew, visit, tasks, tmp_path):
    # The browser remembers for half a minute how much room there was, so it is told before the page opens.
    page = open_page("/field/manifest.json", crew, width=360)
    address = page.url.partition("/field")[0]
    devtools = page.context.new_cdp_session(page)
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": address, "quotaSize": 700_000})
    page.goto(f"{address}/field/")
    level(page)
    open_tree(page, visit)
    page.get_by_label("Photo before").set_input_files(noisy_picture(tmp_path))
    expect(page.get_by_text("No room for this picture")).to_be_visible(timeout=15_000)
    expect(page.locator(".band")).to_contain_text("Phone nearly full")
    assert stored(page, "photos") == []
    tick(page, tasks[0].pk)
    assert len(stored(page)) == 1
    expect(page.locator(f"#job-{tasks[0].pk}")).to_contain_text("Office has it", timeout=20_000)
    assert acts(kind="done") == 1


def noisy_picture(folder):
    """A picture that does not compress well, so that it needs several pieces; turned, with the place in it."""
    image = Image.effect_noise((2000, 1500), 90).convert("RGB")
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (51.0, 1.0, 52.0)
    path = folder / "noisy.jpg"
    image.save(path, "JPEG", quality=90, exif=exif)
    return path


def test_a_photo_that_was_cut_off_goes_on(page, visit, tasks, tmp_path):
    pieces = []

    def cut_the_second(route):
        if route.request.method == "PUT":
            pieces.append(route.request.headers["upload-offset"])
            if len(pieces) == 2:
                return route.abort()
        return route.continue_()

    page.context.route("**/field/photos/*", cut_the_second)
    open_tree(page, visit)
    page.get_by_label("Photo before").set_input_files(noisy_picture(tmp_path))
    expect(page.get_by_text("Photo before, ", exact=False).last).to_be_visible(timeout=15_000)
    tick(page, tasks[0].pk)
    expect(page.locator(".band").get_by_role("button", name="Send now")).to_be_visible(timeout=20_000)
    assert acts(kind="done") == 1
    assert not Photo.objects.get().is_here
    send_now(page)
    level(page)
    photo = Photo.objects.get()
    assert (photo.is_here, photo.pair) == (True, "before")
    assert (photo.width_px, photo.height_px) == (1200, 1600)
    assert pieces[:3] == ["0", str(128 * 1024), str(128 * 1024)]
    with photo.file.open("rb") as file:
        assert b"Exif" not in file.read()


def test_an_emptied_store_is_noticed(page, visit, tasks, crew):
    # The phone said hello while it still held two acts; then the browser threw everything away.
    Phone.objects.filter(staff=crew).update(waiting=2)
    devtools = page.context.new_cdp_session(page)
    kinds = "indexeddb,cache_storage,service_workers"
    address = page.url.partition("/field")[0]
    devtools.send("Storage.clearDataForOrigin", {"origin": address, "storageTypes": kinds})
    page.goto("about:blank")
    page.goto(f"{address}/field/")
    expect(page.locator(".band.is-lost")).to_contain_text("lost its copy", timeout=20_000)
    expect(page.locator("h2", has_text="Pear Cottage 1")).to_be_visible(timeout=20_000)
    assert Phone.objects.filter(staff=crew, lost_at__isnull=False, waiting=2).count() == 1
    page.get_by_role("button", name="Understood").click()
    level(page)


def test_a_server_set_back_gets_the_acts_again(page, visit, tasks):
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    expect(page.locator(f"#job-{tasks[0].pk}")).to_contain_text("Office has it", timeout=20_000)
    FieldAct.objects.all().delete()
    Task.objects.filter(pk=tasks[0].pk).update(state="open", answered_at=None, answered_by=None)
    Phone.objects.update(known_seq=0)
    page.reload()
    level(page)
    assert acts(kind="done") == 1
    assert Task.objects.get(pk=tasks[0].pk).state == "done"


def test_a_killed_browser_loses_nothing_it_showed(crew, visit, live_server, tmp_path):
    told = json.dumps(
        {
            "folder": str(tmp_path / "profile"),
            "address": live_server.url,
            "cookie": Windows(None, live_server.url)._session_cookie(crew),
            "program": shutil.which("chromium") or shutil.which("chromium-browser"),
            "stop": visit.pk,
        }
    )
    command = [sys.executable, "-m", "tests.browser.persistent_phone"]
    child = subprocess.Popen(
        [*command, "write", told], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, start_new_session=True
    )
    assert child.stdout.readline().strip() == "ready"
    os.killpg(child.pid, signal.SIGKILL)
    child.communicate()
    for lock in (tmp_path / "profile").glob("Singleton*"):
        lock.unlink()
    again = subprocess.run([*command, "read", told], capture_output=True, text=True, timeout=120, check=False)
    count, opened = again.stdout.split()
    assert int(count) in (NOTES, NOTES + 1), again.stderr[-2000:]
    assert opened == "from-the-worker"
