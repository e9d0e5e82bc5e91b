"""Rounds: which crew makes which visit on which day, in what order, and why one could not be placed."""

from scheduling.rounds.plan import NearMiss as NearMiss
from scheduling.rounds.plan import PlanNumbers as PlanNumbers
from scheduling.rounds.plan import Progress as Progress
from scheduling.rounds.plan import Round as Round
from scheduling.rounds.plan import RoundPlan as RoundPlan
from scheduling.rounds.plan import Stop as Stop
from scheduling.rounds.plan import Unplaced as Unplaced
from scheduling.rounds.planning import Effort as Effort
from scheduling.rounds.planning import plan_rounds as plan_rounds
from scheduling.rounds.travel import Point as Point
from scheduling.rounds.travel import TravelMatrix as TravelMatrix
from scheduling.rounds.travel import TravelRules as TravelRules
from scheduling.rounds.travel import estimate_matrix as estimate_matrix
from scheduling.rounds.travel import estimate_minutes as estimate_minutes
from scheduling.rounds.travel import great_circle_km as great_circle_km
from scheduling.rounds.values import Crew as Crew
from scheduling.rounds.values import CrewDay as CrewDay
from scheduling.rounds.values import Horizon as Horizon
from scheduling.rounds.values import Lock as Lock
from scheduling.rounds.values import RoundsProblem as RoundsProblem
from scheduling.rounds.values import VisitRequest as VisitRequest
from scheduling.rounds.values import Weights as Weights
