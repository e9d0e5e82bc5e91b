"""Packing: the fewest visits to a site that serve every window of its needs, within a crew-day of work."""

from scheduling.packing.pack import pack_site as pack_site
from scheduling.packing.prices import price_of_windows as price_of_windows
from scheduling.packing.values import EVERY_WEEKDAY as EVERY_WEEKDAY
from scheduling.packing.values import CrewKind as CrewKind
from scheduling.packing.values import DayLimit as DayLimit
from scheduling.packing.values import LockedVisit as LockedVisit
from scheduling.packing.values import NeedAccount as NeedAccount
from scheduling.packing.values import PackedVisit as PackedVisit
from scheduling.packing.values import Packing as Packing
from scheduling.packing.values import PackNeed as PackNeed
from scheduling.packing.values import PackRules as PackRules
from scheduling.packing.values import Unserved as Unserved
from scheduling.packing.values import VisitProof as VisitProof
from scheduling.packing.values import WindowPrice as WindowPrice
