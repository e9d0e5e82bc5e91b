"""Addresses of this room."""

from django.urls import path

from scheduling.field import photos as field_photos
from scheduling.field import shell as field_shell
from scheduling.field import sync as field_sync
from scheduling.views import door, papers, phones, reminders, rounds, seasons, today, visits

urlpatterns = [
    path("", today.board, name="today"),
    path("season/", seasons.latest, name="season"),
    path("season/<int:year>/", seasons.season, name="season-year"),
    path("season/<int:year>/plan/", seasons.plan, name="season-plan"),
    path("rounds/", rounds.week, name="rounds"),
    path("rounds/plan/", rounds.plan, name="rounds-plan"),
    path("rounds/<int:round_id>/", rounds.round_page, name="round"),
    path("visits/<int:visit_id>/", visits.visit, name="visit"),
    path("visits/<int:visit_id>/act/", visits.act, name="visit-act"),
    path("visits/<int:visit_id>/work-order.pdf", papers.work_order, name="work-order"),
    path("visits/<int:visit_id>/report.pdf", papers.report, name="visit-report"),
    path("tasks/<int:task_id>/answer/", visits.answer, name="task-answer"),
    path("field/", field_shell.page, name="field-today"),
    path("field/manifest.json", field_shell.manifest, name="field-manifest"),
    path("sw.js", field_shell.worker, name="service-worker"),
    path("field/hello", field_sync.hello, name="field-hello"),
    path("field/pack", field_sync.pack, name="field-pack"),
    path("field/acts", field_sync.acts, name="field-acts"),
    path("field/photos/<slug:digest>", field_photos.photo, name="field-photo"),
    path("garden/", door.garden, name="garden-door"),
    path("garden/contact/", door.contact, name="garden-contact"),
    path("garden/trees/<int:tree_id>/", door.tree, name="garden-tree"),
    path("garden/visits/<int:visit_id>/agree/", door.confirm, name="garden-agree"),
    path("garden/visits/<int:visit_id>/move/", door.move, name="garden-move"),
    path("garden/visits/<int:visit_id>/report.pdf", door.report, name="garden-report"),
    path("garden/invoices/<int:invoice_id>.pdf", door.invoice, name="garden-invoice"),
    path("garden/calendar/<str:token>.ics", door.calendar, name="garden-calendar"),
    path("asks/<int:ask_id>/settle/", door.settle, name="ask-settle"),
    path("reminders/", reminders.rules, name="reminders"),
    path("phones/", phones.phones, name="phones"),
    path("phones/acts/<int:act_id>/close/", phones.close, name="phone-act-close"),
]
