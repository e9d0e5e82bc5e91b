"""Who may read and who may do what, address by address (ASVS v5.0.0-8.1.1). An address without a rule fails its test.

Letters stand for people (``access_world.PEOPLE``): O owner, F office, A accountant, L crew lead, C crew – both of the
crew that goes to the garden –, X another crew, K the client of the garden by their link, Q another client by theirs,
S a stranger. A page that is only read takes no POST, or treats it as reading.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Closed = Literal["page", "api", "link"]


@dataclass(frozen=True)
class Rule:
    """``reads``: whose GET opens it; ``acts``: whose POST gets past the door. ``closed``: how strangers are sent away:
    to the sign-in page, with 401 and JSON, or with the page of links that open nothing.
    """

    reads: str = ""
    acts: str = ""
    closed: Closed = "page"


def _rules(names: str, rule: Rule) -> dict[str, Rule]:
    return dict.fromkeys(names.split(), rule)


EVERYBODY, HERE, OFFICE, FIELD = "OFALCXKQS", "OFALCX", "OF", "OFLCX"
OWN_CREW = "OFLC"

RULES: dict[str, Rule] = {
    # The door itself, what machines ask, and what a signed link opens: the link is the key, whoever holds it.
    **_rules("sign-in link-new mail-stop quote-answer", Rule(reads=EVERYBODY, acts=EVERYBODY)),
    **_rules("link-open crew-calendar garden-calendar quote-answer-pdf", Rule(reads=EVERYBODY)),
    **_rules("health ready service-worker field-manifest", Rule(reads=EVERYBODY)),
    "sign-out": Rule(acts=EVERYBODY),
    "metrics": Rule(closed="link"),  # only from the machine itself, with its token
    # The client's door: own garden, own papers; another client finds nothing there, and neither does the owner.
    **_rules("garden-door garden-account garden-account-paper", Rule(reads="KQ", closed="link")),
    **_rules("garden-contact", Rule(reads="KQ", acts="KQ", closed="link")),
    **_rules(
        "garden-tree garden-report garden-invoice garden-offer-paper garden-review", Rule(reads="K", closed="link")
    ),
    **_rules("garden-agree garden-move garden-offer", Rule(reads="K", acts="K", closed="link")),
    "link-leave": Rule(acts="KQ", closed="link"),
    # One's own sign-in.
    "me": Rule(reads=HERE),
    **_rules("my-password my-second-factor prove second-step", Rule(reads=HERE, acts=HERE)),
    **_rules("my-codes my-factor-off my-sessions-end", Rule(acts=HERE)),
    "my-session-end": Rule(acts="F"),  # the session in question is the office's
    # Grave: the business itself and who gets in.
    **_rules("business-profile person person-new", Rule(reads="O", acts="O")),
    **_rules("person-sessions-end person-factor-reset", Rule(acts="O")),
    "numbers": Rule(reads="O"),
    # The round. A crew sees its own; another crew's visit is not there.
    **_rules("today rounds day calendars rule rules-form rules-species", Rule(reads=FIELD)),
    **_rules("round round-sheet visit work-order", Rule(reads=OWN_CREW)),
    **_rules("visit-act task-answer", Rule(acts=OWN_CREW)),
    "field-today": Rule(reads=FIELD),
    "field-hello": Rule(reads=FIELD, closed="api"),
    # A photo is named by the hash of its bytes: whoever has it took it, or brings it for who took it.
    "field-photo": Rule(reads=FIELD, closed="api"),
    "field-picture": Rule(reads=OWN_CREW, closed="api"),
    **_rules("field-pack field-acts", Rule(acts=FIELD, closed="api")),
    # Books: the accountant reads.
    **_rules(
        "charges client clients document invoice invoice-pdf invoices message messages price-list prices quote "
        "quote-pdf quotes books books-table client-statement client-statement-pdf invoice-xml late-invoices",
        Rule(reads="OFA"),
    ),
    **_rules("season-review season-review-pdf season-reviews season-reviews-latest", Rule(reads=OFFICE)),
    **_rules("agreement agreement-new quote-edit quote-new reminder-ladder", Rule(reads=OFFICE, acts=OFFICE)),
    **_rules(
        "charge-split charge-write-off charges-gather client-balance client-payment client-refund invoice-change "
        "invoice-credit invoice-issue invoice-mail invoice-payment message-again message-stop price-list-new price-new "
        "quote-charge quote-note-answer quote-send tax-rate-new design-quote support-quote books-account-end "
        "books-account-new client-everything client-hold client-statement-mail hold-lift invoice-ask-again "
        "invoice-give-up invoice-hold invoice-late-claim invoice-remind late-rate-new season-review-act "
        "season-reviews-make",
        Rule(acts=OFFICE),
    ),
    # The office's own.
    **_rules(
        "board crew crews people phones photo photo-small plan plan-progress practice rules season season-year site site-year "
        "sites station stations support tree tree-years trees visit-report",
        Rule(reads=OFFICE),
    ),
    **_rules(
        "client-contacts client-edit client-new crew-day crew-edit crew-new designer licence licences reminders site-edit site-new support-edit "
        "support-new tree-edit tree-new visit-move",
        Rule(reads=OFFICE, acts=OFFICE),
    ),
    **_rules(
        "ask-settle client-link client-link-send client-links-end crew-away crew-days crew-calendar-renew need-urgent "
        "phone-act-charge phone-act-close plan-accept plan-again plan-clear plan-drop plan-stop plan-undo practice-keep "
        "practice-usual rain-day record-withdraw rounds-plan rule-back rule-change season-plan site-station "
        "station-bring station-new support-build support-record support-record-withdraw support-slack tree-out tree-record visit-call-off visit-nudge visit-ran-over "
        "visit-urgent",
        Rule(acts=OFFICE),
    ),
}

SENT = {
    "reminders": {"kind": "reminder"},
    "visit-act": {"act": "start"},
    "visit-nudge": {"step": "later"},
    "invoice-change": {"act": "take_off"},
    "season-review-act": {"act": "store", "words": "A good year."},
}
"""What a POST must name to be looked at; all others are sent empty."""

WRITES_WHEN_READ = {
    "invoice-pdf": "the paper of an issued invoice is made when it is first asked for, and kept",
    "invoice-xml": "the electronic invoice, likewise",
    "garden-invoice": "the same paper, for the client",
    "numbers": "the working days of crews are laid out as far as somebody looks",
}
"""Reading changes nothing, but for these: what they write is the same however often and by whomever they are read."""
