"""The pack a phone carries: the rounds of today and the next days, complete, and nothing else.

Built from an allow-list of facts: no prices, no bank details, no visits of other crews (experience: the bytes, not the
style sheet, keep a secret).
"""

from __future__ import annotations

import hashlib
import json
import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Count, Max, Q, QuerySet

from business import clock
from business.models import Staff
from business.queries.profile import our_profile
from gardens.climate.values import STAGES
from gardens.drawing import Options
from gardens.knowledge.material_book import materials
from gardens.models import Photo, Record, Tree
from gardens.queries.trees import standing_records
from gardens.services.record_words import MEASURED_WORDS
from gardens.services.work_words import WORK_WORDS
from scheduling.documents.pictures import Picture, pictures_of_visit
from scheduling.models import FieldAct, HandedOut, Phone, Task, Visit
from scheduling.queries.access import crews_open_to, visits_open_to
from scheduling.queries.visits import with_tasks
from scheduling.services.field_reading import ANSWERS

DAYS_AHEAD = 3
PICTURE_PX = 340
CONTAGIOUS = ("fire blight", "fireblight", "canker", "bacterial", "silver leaf")
SUSPECT_DAYS = 730
"""Wood that was ill two winters ago can still carry it. Common practice."""
DISINFECT = "Do this tree last. Wipe the blades with disinfectant after every cut, and before the next garden."


@dataclass(frozen=True, kw_only=True)
class PackAsk:
    """What the phone has already: its version, and the digests of the drawings it keeps."""

    phone: Phone
    have_version: str = ""
    have_drawings: Collection[str] = ()


def visits_for_pack(staff: Staff, today: date) -> QuerySet[Visit]:
    """The visits of the next days. Whoever is in a crew gets that crew's, the office sees every crew's."""
    visits = visits_open_to(staff).filter(on__range=(today, today + timedelta(days=DAYS_AHEAD)))
    own = crews_open_to(staff).filter(members__staff=staff)
    if staff.is_office and own.exists():
        visits = visits.filter(round__crew__in=own)
    return visits.exclude(state=Visit.State.CALLED_OFF).order_by("on", "round__crew__name", "position", "pk")


def today_of(staff: Staff) -> date:
    return clock.today(our_profile().time_zone)


def pack_version(staff: Staff, today: date) -> str:
    """Changes whenever anything a pack shows has changed; costs six small queries."""
    visits = visits_for_pack(staff, today)
    rows = list(visits.values_list("pk", "revision", "position", "arrives_at", "state", "work_order__version"))
    ids = [row[0] for row in rows]
    tasks = Task.objects.filter(work_order__visit__in=ids)
    sites = visits.order_by().values_list("site_id", "site__access_notes", "site__hazards", "site__phone").distinct()
    site_ids = [row[0] for row in sites]
    parts: list[Any] = [
        str(today),
        staff.pk,
        sorted(map(str, rows)),
        sorted(map(str, sites)),
        tasks.aggregate(n=Count("pk"), top=Max("pk"), at=Max("answered_at"), open=Count("pk", filter=Q(state="open"))),
        Record.objects.filter(tree__site__in=site_ids).aggregate(
            n=Count("pk"), top=Max("pk"), gone=Count("pk", filter=Q(is_withdrawn=True))
        ),
        Photo.objects.filter(site__in=site_ids).exclude(small="").aggregate(n=Count("pk"), top=Max("pk")),
        FieldAct.objects.filter(visit__in=ids).aggregate(n=Count("pk"), top=Max("pk"), closed=Max("closed_at")),
    ]
    return hashlib.sha256(json.dumps(parts, default=str, sort_keys=True).encode()).hexdigest()[:20]


def build_pack(*, staff: Staff, ask: PackAsk, now: datetime | None = None) -> dict[str, Any] | None:
    """The pack as JSON-ready values; None if the phone has this version already."""
    made_at = now or clock.now()
    today = clock.today(our_profile().time_zone, at=made_at)
    version = pack_version(staff, today)
    if version == ask.have_version:
        return None
    visits = list(with_tasks(visits_for_pack(staff, today)))
    _hand_out(ask.phone, staff, visits, made_at)
    said = _said_about(visits)
    builder = _Builder(
        today=today,
        said=said,
        photos=_last_photos(visits),
        suspects=_suspects(visits, today),
        measured=_last_measured(visits),
    )
    stops = [builder.stop(visit) for visit in visits]
    profile = our_profile()
    return {
        "version": version,
        "made_at": made_at.isoformat(),
        "today": str(today),
        "person": {"id": staff.pk, "name": staff.name},
        "business": {"name": profile.name, "phone": profile.phone},
        "units": profile.units,
        "words": {
            "kinds": WORK_WORDS,
            "measured": MEASURED_WORDS,
            "stages": list(STAGES),
            "reasons": dict(Task.Reason.choices),
            "materials": [{"name": item.name, "unit": item.unit} for item in materials().goods.values()],
        },
        "stops": stops,
        "drawings": {key: svg for key, svg in builder.drawings.items() if key not in set(ask.have_drawings)},
    }


def _hand_out(phone: Phone, staff: Staff, visits: Sequence[Visit], now: datetime) -> None:
    rows = [HandedOut(phone=phone, staff=staff, visit=visit, first_at=now) for visit in visits]
    HandedOut.objects.bulk_create(rows, ignore_conflicts=True)


def _said_about(visits: Sequence[Visit]) -> dict[int, list[FieldAct]]:
    """Everything phones and office said on these visits, by visit; acts that were taken back are marked so."""
    said: dict[int, list[FieldAct]] = defaultdict(list)
    acts = FieldAct.objects.filter(visit__in=visits, result=FieldAct.Result.ACCEPTED).select_related("author")
    for act in acts.order_by("happened_at", "pk"):
        said[act.visit_id or 0].append(act)
    return said


def _last_photos(visits: Sequence[Visit]) -> dict[int, Photo]:
    """The newest photo of each tree in these gardens."""
    last: dict[int, Photo] = {}
    photos = Photo.objects.filter(site__in={visit.site_id for visit in visits}, is_withdrawn=False, tree__isnull=False)
    for photo in photos.exclude(small="").order_by("taken_at", "pk"):
        last[photo.tree_id or 0] = photo
    return last


def _last_measured(visits: Sequence[Visit]) -> dict[int, list[dict[str, Any]]]:
    """What was measured last on each limb of each tree."""
    last: dict[tuple[int, str, str], dict[str, Any]] = {}
    rows = standing_records().filter(tree__site__in={visit.site_id for visit in visits}, kind=Record.Kind.MEASURED)
    for row in rows:
        place = (row.tree_id or 0, row.what, row.limb)
        last[place] = {"what": row.what, "limb": row.limb, "value": row.value, "on": f"{row.on:%-d %b %Y}"}
    by_tree: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for (tree_id, _, _), said in last.items():
        by_tree[tree_id].append(said)
    return by_tree


def _suspects(visits: Sequence[Visit], today: date) -> set[int]:
    """Trees on which a contagious disease was seen: they come last in their garden."""
    wanted = Q()
    for words in CONTAGIOUS:
        wanted |= Q(text__icontains=words)
    rows = Record.objects.filter(
        wanted,
        tree__site__in={visit.site_id for visit in visits},
        kind=Record.Kind.SEEN,
        what="disease",
        is_withdrawn=False,
        corrected_by=None,
        on__gte=today - timedelta(days=SUSPECT_DAYS),
    )
    return set(rows.values_list("tree_id", flat=True))


class _Builder:
    """Turns visits into what the phone shows; gathers the drawings by their digest."""

    def __init__(
        self,
        *,
        today: date,
        said: dict[int, list[FieldAct]],
        photos: dict[int, Photo],
        suspects: set[int],
        measured: dict[int, list[dict[str, Any]]],
    ) -> None:
        self.today = today
        self.said = said
        self.photos = photos
        self.suspects = suspects
        self.measured = measured
        self.drawings: dict[str, str] = {}

    def stop(self, visit: Visit) -> dict[str, Any]:
        site = visit.site
        pictures = pictures_of_visit(visit, options=Options(width_px=PICTURE_PX, max_height_mm=80, tappable=True))
        said = self.said.get(visit.pk, [])
        return {
            "id": visit.pk,
            "on": str(visit.on),
            "crew": visit.round.crew.name if visit.round else "",
            "state": visit.state,
            "position": visit.position,
            "arrives": f"{visit.arrives_at:%H:%M}" if visit.arrives_at else "",
            "leaves": f"{visit.leaves_at:%H:%M}" if visit.leaves_at else "",
            "drive": visit.drive_minutes,
            "minutes": visit.minutes,
            "weather": list(visit.weather_rules),
            "skills": list(visit.skills),
            "site": {
                "name": site.name,
                "client": site.client.name,
                "address": site.address,
                "phone": site.phone,
                "latitude": site.latitude_deg,
                "longitude": site.longitude_deg,
                "access": site.access_notes,
                "hazards": site.hazards,
            },
            "trees": [self.tree(picture, said) for picture in self.in_walking_order(pictures)],
            "said": [_said(act) for act in said if act.kind not in ANSWERS and act.kind != FieldAct.Kind.WITHDRAWS],
        }

    def in_walking_order(self, pictures: Sequence[Picture]) -> list[Picture]:
        """Along the supports as one walks; trees under suspicion of a contagious disease last."""
        return sorted(pictures, key=lambda picture: picture.tree_id in self.suspects)

    def tree(self, picture: Picture, said: Sequence[FieldAct]) -> dict[str, Any]:
        first = picture.tasks[0]
        is_suspect = picture.tree_id in self.suspects
        photo = self.photos.get(picture.tree_id or 0)
        return {
            "key": picture.key,
            "id": picture.tree_id,
            "label": picture.title,
            "fact": picture.fact,
            "where": _where(first.tree) if first.tree else "",
            "drawing": self.drawing(str(picture.drawing)),
            "cautions": ([DISINFECT] if is_suspect else []) + list(picture.cautions),
            "is_suspect": is_suspect,
            "limbs": list(dict.fromkeys(re.findall(r'data-limb="([a-z_:0-9]+)"', str(picture.drawing)))),
            "measured": self.measured.get(picture.tree_id or 0, []),
            "photo": {"uid": str(photo.uid), "on": f"{photo.taken_at:%-d %b %Y}"} if photo else None,
            "tasks": [_task(task, said) for task in picture.tasks],
        }

    def drawing(self, svg: str) -> str:
        digest = hashlib.sha256(svg.encode()).hexdigest()[:20]
        self.drawings[digest] = svg
        return digest


def _where(tree: Tree) -> str:
    """Where the tree stands along its support, from the left end."""
    return f"{tree.support.name}, {tree.position_mm / 1000:.1f} m from the left end"


def _task(task: Task, said: Iterable[FieldAct]) -> dict[str, Any]:
    mine = [act for act in said if act.task_id == task.pk]
    gone = [str(act.withdraws) for act in said if act.kind == FieldAct.Kind.WITHDRAWS and act.withdraws]
    answers = [_said(act) for act in mine if act.kind in ANSWERS]
    if task.state != Task.State.OPEN and not answers:
        answers = [_office_said(task)]
    return {
        "id": task.pk,
        "number": task.number,
        "kind": task.kind,
        "limb": task.limb,
        "instruction": task.instruction,
        "why": task.why,
        "minutes": round(task.minutes),
        "at_mm": task.at_mm,
        "to_angle_deg": task.to_angle_deg,
        "need": task.need_id,
        "closes": str(task.need.closes) if task.need else None,
        "answers": answers,
        "gone": gone,
    }


def _said(act: FieldAct) -> dict[str, Any]:
    return {
        "id": str(act.uid),
        "kind": act.kind,
        "by": act.author.name if act.author else "the office",
        "by_id": act.author_id,
        "at": act.happened_at.isoformat(),
        "tree": act.tree_id,
        "value": {name: value for name, value in (act.body.get("value") or {}).items() if name != "strokes"},
    }


def _office_said(task: Task) -> dict[str, Any]:
    return {
        "id": f"office-{task.pk}",
        "kind": task.state,
        "by": task.answered_by.name if task.answered_by else "the office",
        "by_id": task.answered_by_id,
        "at": task.answered_at.isoformat() if task.answered_at else "",
        "value": {"reason": task.reason, "note": task.note, "value": task.value},
    }
