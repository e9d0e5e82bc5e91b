"""Templates keep to the content policy and say what they need."""

from __future__ import annotations

import re

import pytest

from tests.architecture.project import texts

TEMPLATES = sorted(texts(".html"))
# Papers go through the PDF library, not through a browser: there the policy does not reach.
PAGES = [(name, text) for name, text in TEMPLATES if "/documents/" not in name and "/mail/" not in name]

FORBIDDEN = {
    "a style attribute": re.compile(r"<[^>]*\sstyle\s*=", re.IGNORECASE),
    "a style element": re.compile(r"<style\b", re.IGNORECASE),
    "an inline script": re.compile(r"<script(?![^>]*\bsrc=)(?![^>]*application/(ld\+)?json)", re.IGNORECASE),
    "an event attribute": re.compile(r"<[^>{]*\s(on[a-z]+|hx-on[:a-z-]*)\s*=", re.IGNORECASE),
    "a script in htmx values": re.compile(r"hx-(vals|headers)\s*=\s*['\"]js:", re.IGNORECASE),
    "an address on another host": re.compile(r"(src|href)\s*=\s*[\"'](https?:)?//", re.IGNORECASE),
}


@pytest.mark.parametrize("what", sorted(FORBIDDEN))
def test_no_page_breaks_the_content_policy(what):
    faults = [
        f"{name}:{text[: match.start()].count(chr(10)) + 1}"
        for name, text in PAGES
        for match in FORBIDDEN[what].finditer(text)
    ]
    assert faults == []


@pytest.mark.parametrize(
    ("what", "broken"),
    [
        ("a style attribute", '<p class="a" style="x">'),
        ("an inline script", "<script>go()</script>"),
        ("an event attribute", '<a onclick="go()">'),
        ("an address on another host", '<img src="//elsewhere.example/x.png">'),
    ],
)
def test_a_breach_would_be_found(what, broken):
    assert FORBIDDEN[what].search(broken)


def test_every_include_says_what_it_needs():
    faults = [
        name
        for name, text in TEMPLATES
        if name.rsplit("/", 1)[-1].startswith("_") and not re.match(r"\{# .*Needs.* #\}", text)
    ]
    assert faults == []


def test_every_post_form_carries_its_token():
    form = re.compile(r"<form\b[^>]*method=[\"']post[\"'][^>]*>(.*?)</form>", re.IGNORECASE | re.DOTALL)
    faults = [name for name, text in PAGES for body in form.findall(text) if "csrf_token" not in body]
    assert faults == []


def test_comments_end_on_their_line():
    """A comment over several lines is no comment to the template language: readers would see it."""
    faults = [
        f"{name}:{number}"
        for name, text in TEMPLATES
        for number, line in enumerate(text.splitlines(), 1)
        if line.count("{#") != line.count("#}")
    ]
    assert faults == []
