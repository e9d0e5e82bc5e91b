"""Addresses of this room."""

from django.contrib.auth.views import LogoutView
from django.urls import path

from business.views import charges, clients, invoices, outbox, people

urlpatterns = [
    path("sign-in/", people.SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("business/", people.profile, name="business-profile"),
    path("people/", people.people, name="people"),
    path("people/new/", people.new_person, name="person-new"),
    path("people/<int:person_id>/", people.person, name="person"),
    path("clients/", clients.client_list, name="clients"),
    path("clients/new/", clients.new_client, name="client-new"),
    path("clients/<int:client_id>/", clients.client, name="client"),
    path("clients/<int:client_id>/edit/", clients.edit_client, name="client-edit"),
    path("clients/<int:client_id>/contacts/", clients.edit_contacts, name="client-contacts"),
    path("clients/<int:client_id>/links/end/", clients.end_client_links, name="client-links-end"),
    path("clients/<int:client_id>/payment/", clients.take_payment, name="client-payment"),
    path("clients/<int:client_id>/refund/", clients.pay_back, name="client-refund"),
    path("clients/<int:client_id>/balance/", clients.put_balance, name="client-balance"),
    path("clients/<int:client_id>/agreement/", clients.new_agreement, name="agreement-new"),
    path("agreements/<int:agreement_id>/", clients.edit_agreement, name="agreement"),
    path("charges/", charges.charges, name="charges"),
    path("charges/gather/", charges.gather, name="charges-gather"),
    path("charges/<int:charge_id>/write-off/", charges.give_up, name="charge-write-off"),
    path("charges/<int:charge_id>/split/", charges.split, name="charge-split"),
    path("prices/", charges.prices, name="prices"),
    path("prices/new/", charges.new_price_list, name="price-list-new"),
    path("prices/tax/", charges.new_tax_rate, name="tax-rate-new"),
    path("prices/<int:price_list_id>/", charges.price_list, name="price-list"),
    path("prices/<int:price_list_id>/price/", charges.new_price, name="price-new"),
    path("invoices/", invoices.invoice_list, name="invoices"),
    path("invoices/<int:invoice_id>/", invoices.invoice, name="invoice"),
    path("invoices/<int:invoice_id>/paper.pdf", invoices.paper, name="invoice-pdf"),
    path("invoices/<int:invoice_id>/issue/", invoices.issue, name="invoice-issue"),
    path("invoices/<int:invoice_id>/mail/", invoices.mail, name="invoice-mail"),
    path("invoices/<int:invoice_id>/payment/", invoices.pay, name="invoice-payment"),
    path("invoices/<int:invoice_id>/credit/", invoices.credit, name="invoice-credit"),
    path("invoices/<int:invoice_id>/change/", invoices.change_draft, name="invoice-change"),
    path("messages/", outbox.message_list, name="messages"),
    path("messages/<int:message_id>/", outbox.message, name="message"),
    path("messages/<int:message_id>/stop/", outbox.stop, name="message-stop"),
    path("messages/<int:message_id>/again/", outbox.again, name="message-again"),
    path("documents/<int:document_id>/", outbox.document, name="document"),
]
