"""Who goes when. Imports inside this package run crews, seasons < visits < work_orders < plans, field."""

from scheduling.models.crews import Crew, CrewMember, Shift
from scheduling.models.field import FieldAct, HandedOut, Phone
from scheduling.models.plans import Plan, Unplaced
from scheduling.models.seasons import Need, Season
from scheduling.models.visits import Round, Visit
from scheduling.models.work_orders import Task, VisitReport, WorkOrder

__all__ = [
    "Crew",
    "CrewMember",
    "FieldAct",
    "HandedOut",
    "Need",
    "Phone",
    "Plan",
    "Round",
    "Season",
    "Shift",
    "Task",
    "Unplaced",
    "Visit",
    "VisitReport",
    "WorkOrder",
]
