"""Keep a statement of account and mail it."""

from __future__ import annotations

from datetime import date

from business.documents.statements import statement_pdf
from business.documents.words import days_text
from business.errors import BadInput, Fault
from business.models import Client, Message, Staff
from business.queries.clients import contacts_of
from business.queries.profile import our_profile
from business.queries.statements import statement_of
from business.services.archive import Paper, archive
from business.services.client_links import GARDEN_MARK
from business.services.messages import queue_message


def statement_paper_of(*, client: Client, currency: str, since: date, until: date) -> Paper:
    """The paper as it is now; kept nowhere yet."""
    found = statement_of(client, currency=currency, since=since, until=until)
    return Paper(
        kind="statement",
        reference=f"client:{client.pk}:{since}:{until}:{currency}",
        file_name=f"statement_{client.code}_{since}_{until}_{currency}.pdf",
        content=statement_pdf(client, found, currency),
    )


def mail_statement(
    *, client: Client, currency: str, since: date, until: date, by: Staff | None = None
) -> list[Message]:
    """Keep the statement and mail it to whoever gets invoices. The same paper goes once; a changed one goes again.

    Raises:
        BadInput: nobody has a mail address.
    """
    addresses = [one.email for one in contacts_of(client) if one.gets_invoice_mail and one.email]
    addresses = addresses or [client.email] * bool(client.email)
    if not addresses:
        raise BadInput([Fault(client.name, "has no mail address", "enter one, or send the paper by post")])
    paper = statement_paper_of(client=client, currency=currency, since=since, until=until)
    document = archive(paper, client=client, by=by)
    profile = our_profile()
    period = days_text(since, until)
    body = (
        f"{client.salutation},\n\n"
        f"the statement of your account, {period}, is attached.\n\n"
        f"Your invoices and statements are also on your garden's page:\n{GARDEN_MARK}\n\n"
        f"{profile.name}\n"
    )
    return [
        queue_message(
            key=f"statement:{document.pk}:{address}",
            kind="statement",
            client=client,
            to=address,
            subject=f"Statement of account, {period}, from {profile.name}",
            body=body,
            documents=[document],
            may_repeat=True,
        )
        for address in addresses
    ]
