"""Role × page × method, really requested, with real things behind every address (ASVS v5.0.0-8.2.1, 8.2.2)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from django.db import connection, transaction
from django.http import HttpResponseBase
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.answers import close
from tests.architecture.access_matrix import RULES, SENT, WRITES_WHEN_READ, Rule
from tests.architecture.access_world import HERE, PEOPLE, World, build_world, places_of_addresses

pytestmark = pytest.mark.django_db

ADDRESSES = places_of_addresses()
WRITE = re.compile(r'\s*(?:INSERT INTO|UPDATE|DELETE FROM) "(\w+)"')
KEPT_BY_ANY_READING = {"django_session", "business_staffsession"}
"""Opening a page may write down that the session is in use, nothing else."""

# What must not reach a crew: prices, and how to reach a client by mail. What must not leave the crew: the gate code.
SENTINEL_PRICE, SENTINEL_MAIL, SENTINEL_GATE, SENTINEL_NAME = "987.65", "rosa@example.com", "4711", "Quill"


@dataclass(frozen=True)
class Answer:
    status: int
    location: str
    body: bytes
    writes: frozenset[str]

    @property
    def is_sign_in(self) -> bool:
        return self.status in {302, 303} and self.location.startswith(reverse("sign-in"))

    @property
    def is_open(self) -> bool:
        """Past the door: shown, done, or refused for what was sent."""
        return not self.is_sign_in and (self.status < 400 or self.status in {400, 409, 413, 415, 422, 429})

    def __str__(self) -> str:
        return f"{self.status}{' to sign-in' if self.is_sign_in else ''}{' ' + str(set(self.writes)) if self.writes else ''}"


def ask(world: World, who: str, name: str, method: str) -> Answer:
    """One request, undone afterwards."""
    browser, address = world.browser(who), world.address(name, ADDRESSES[name])
    with transaction.atomic(), CaptureQueriesContext(connection) as queries:
        given = (
            browser.post(address, SENT.get(name, {})) if method == "POST" else getattr(browser, method.lower())(address)
        )
        body = body_of(given)
        transaction.set_rollback(True)
    writes = {match[1] for query in queries if (match := WRITE.match(query["sql"]))}
    return Answer(given.status_code, given.headers.get("Location", ""), body, frozenset(writes - KEPT_BY_ANY_READING))


def body_of(answer: HttpResponseBase) -> bytes:
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content  # type: ignore[attr-defined]
    close(answer)
    return content


def is_shut(answer: Answer, who: str, rule: Rule) -> bool:
    """Forbidden and missing look alike; strangers are shown the way in, where there is one for them."""
    if who in HERE or rule.closed == "link":
        return answer.status == 404
    return answer.status == 401 if rule.closed == "api" else answer.is_sign_in


def faults_of_reading(world: World, who: str, name: str, rule: Rule) -> Iterator[str]:
    answer = ask(world, who, name, "GET")
    if who in rule.reads:
        if not answer.is_open:
            yield f"GET {name} is shut for {PEOPLE[who]}: {answer}"
        if answer.writes and name not in WRITES_WHEN_READ:
            yield f"GET {name} writes for {PEOPLE[who]}: {answer}"
        yield from leaks(who, name, answer)
    elif answer.status != 405 and not is_shut(answer, who, rule):
        yield f"GET {name} is open for {PEOPLE[who]}: {answer}"
    elif answer.status == 405 and rule.reads:
        yield f"GET {name} tells {PEOPLE[who]} that it exists: {answer}"


def faults_of_acting(world: World, who: str, name: str, rule: Rule) -> Iterator[str]:
    if who not in rule.acts and who in rule.reads and who != rule.reads[0]:
        return  # a page that is only read: how it takes a POST was seen with the first of its readers
    answer = ask(world, who, name, "POST")
    if who in rule.acts:
        if not answer.is_open and name != "sign-out":
            yield f"POST {name} is shut for {PEOPLE[who]}: {answer}"
    elif who in rule.reads:
        if answer.status != 405 and (answer.writes and name not in WRITES_WHEN_READ):
            yield f"POST {name} changes something for {PEOPLE[who]}: {answer}"
    elif answer.status != 405 and not is_shut(answer, who, rule):
        yield f"POST {name} is open for {PEOPLE[who]}: {answer}"
    elif answer.status == 405 and rule.acts and who in HERE and not rule.reads:
        yield f"POST {name} tells {PEOPLE[who]} that it exists: {answer}"
    if who not in rule.acts and answer.writes and name not in WRITES_WHEN_READ:
        yield f"POST {name} wrote for {PEOPLE[who]}, who may not: {answer}"


def leaks(who: str, name: str, answer: Answer) -> Iterator[str]:
    """Words in the bytes that are none of this person's business, seen or not."""
    words = answer.body.decode("utf-8", "replace")
    hidden: dict[str, tuple[str, ...]] = {"L": (SENTINEL_PRICE, SENTINEL_MAIL), "C": (SENTINEL_PRICE, SENTINEL_MAIL)}
    hidden |= {"X": (SENTINEL_PRICE, SENTINEL_MAIL, SENTINEL_NAME, SENTINEL_GATE), "A": (SENTINEL_GATE,)}
    hidden |= {"K": (SENTINEL_GATE,), "Q": (SENTINEL_NAME, SENTINEL_GATE), "S": (SENTINEL_GATE,)}
    for word in hidden.get(who, ()):
        # A link is a key: what it opens, it opens to whoever holds it.
        if word in words and not (word == SENTINEL_NAME and "token" in ADDRESSES[name]):
            yield f"GET {name} shows {word!r} to {PEOPLE[who]}"


@pytest.fixture(autouse=True)
def papers_as_text(monkeypatch):
    """Setting hundreds of papers takes minutes; what stands in them can be read before they are set."""
    monkeypatch.setattr("weasyprint.HTML", Unset)


class Unset:
    def __init__(self, *, string: str, **_: object) -> None:
        self.string = string

    def write_pdf(self, **_: object) -> bytes:
        return b"%PDF-1.7\n" + self.string.encode()


def test_every_address_has_a_rule_and_every_rule_an_address():
    """Whoever adds an address writes its rule into tests/architecture/access_matrix.py."""
    assert set(ADDRESSES) - set(RULES) == set(), "without a rule"
    assert set(RULES) - set(ADDRESSES) == set(), "without an address"


@pytest.mark.parametrize("who", PEOPLE, ids=PEOPLE.values())
def test_each_person_opens_what_their_rule_says_and_nothing_else(who):
    world = build_world()
    faults = [
        fault
        for name in sorted(ADDRESSES)
        if (rule := RULES.get(name)) is not None
        for check in (faults_of_reading, faults_of_acting)
        for fault in check(world, who, name, rule)
    ]
    assert faults == []


def test_looking_with_head_says_what_get_says_and_writes_nothing():
    """What robots do with links of mails: they ask by HEAD, more than once."""
    world = build_world()
    faults = []
    for name, rule in RULES.items():
        if name not in ADDRESSES or not ({"K", "S"} & set(rule.reads)) or name in WRITES_WHEN_READ:
            continue
        for who in {"K", "S"} & set(rule.reads):
            head, again, get = (ask(world, who, name, method) for method in ("HEAD", "HEAD", "GET"))
            if {head.status, again.status} - {get.status, 405} or head.writes or again.writes:
                faults.append(f"{name}: {head}, {again}, {get}")
    assert faults == []
