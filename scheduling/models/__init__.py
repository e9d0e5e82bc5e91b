"""Who goes when. Imports inside this package run crews, seasons < visits < work_orders < plans < plan_runs; field, travel."""

from scheduling.models.asks import ClientAsk
from scheduling.models.crews import Crew, CrewMember, Shift
from scheduling.models.field import FieldAct, HandedOut, Phone
from scheduling.models.plan_runs import PlanRun
from scheduling.models.plans import Plan, Unplaced
from scheduling.models.reminders import ReminderRule
from scheduling.models.reviews import SeasonReview
from scheduling.models.seasons import Need, Season, SiteStages
from scheduling.models.travel import RoadLeg
from scheduling.models.visits import Round, Visit
from scheduling.models.work_orders import Task, VisitReport, WorkOrder

__all__ = [
    "ClientAsk",
    "Crew",
    "CrewMember",
    "FieldAct",
    "HandedOut",
    "Need",
    "Phone",
    "Plan",
    "PlanRun",
    "ReminderRule",
    "RoadLeg",
    "Round",
    "Season",
    "SeasonReview",
    "Shift",
    "SiteStages",
    "Task",
    "Unplaced",
    "Visit",
    "VisitReport",
    "WorkOrder",
]
