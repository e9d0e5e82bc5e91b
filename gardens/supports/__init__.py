"""Supports: is it strong enough, how does it hang, how is it laid out, what must be bought?

    support = read_support({"kind": "wall", "run": "3.6 m", …})      # or Support(…)
    report = check_support(support)                                   # verdict per part, cures, cautions
    bill = bill_of_materials(support)
    layout = lay_out_support(LayoutWish(kind="wall", form="fan", run_mm=4000, height_mm=2200))

A garden-scale check and no structural engineering: print the cautions of a report with its result.
"""

from gardens.supports.bill import Allowances, Bill, BillLine, LabourLine, bill_of_materials
from gardens.supports.care import (
    CareDue,
    SupportRecord,
    SupportState,
    WireState,
    care_due,
    fold_support,
)
from gardens.supports.cases import LoadedWire, WireCase, load_wires
from gardens.supports.check import SupportReport, check_support
from gardens.supports.examples import EXAMPLES
from gardens.supports.laid import (
    Dimension,
    LaidBrace,
    LaidEye,
    LaidPost,
    LaidTree,
    LaidWire,
    LayoutWish,
    SupportLayout,
)
from gardens.supports.layout import lay_out_support, layout_of
from gardens.supports.loads import plant_load, wind_pressure_pa, wire_loads
from gardens.supports.read import read_support
from gardens.supports.report import bill_as_dict, layout_as_dict, report_as_dict, report_as_text
from gardens.supports.rows import Rows, RowSpacing, RowsWish, SunRay, row_faults, row_spacing, sun_hours_between
from gardens.supports.slack import SagReading, Slack, judge_pull, judge_slack, tension_from_sag_n
from gardens.supports.statics import (
    Load,
    Strung,
    catenary,
    hang,
    loaded_tension_n,
    parabola,
    parabola_sag_m,
    tension_for_sag_n,
)
from gardens.supports.ties import TieLife, tie_count, tie_life
from gardens.supports.values import (
    VERDICT_WORDS,
    Anchor,
    End,
    Fixing,
    PartCheck,
    PartVerdict,
    Plant,
    Post,
    Support,
    Surroundings,
)
from gardens.supports.van import VanItem, VanLine, items_of_bill, items_to_tighten, load_in_the_van
from gardens.supports.wires import Wire, gauge_mm, nearest_gauge, read_wire_size, wire

__all__ = [
    "EXAMPLES",
    "VERDICT_WORDS",
    "Allowances",
    "Anchor",
    "Bill",
    "BillLine",
    "CareDue",
    "Dimension",
    "End",
    "Fixing",
    "LabourLine",
    "LaidBrace",
    "LaidEye",
    "LaidPost",
    "LaidTree",
    "LaidWire",
    "LayoutWish",
    "Load",
    "LoadedWire",
    "PartCheck",
    "PartVerdict",
    "Plant",
    "Post",
    "RowSpacing",
    "Rows",
    "RowsWish",
    "SagReading",
    "Slack",
    "Strung",
    "SunRay",
    "Support",
    "SupportLayout",
    "SupportRecord",
    "SupportReport",
    "SupportState",
    "Surroundings",
    "TieLife",
    "VanItem",
    "VanLine",
    "Wire",
    "WireCase",
    "WireState",
    "bill_as_dict",
    "bill_of_materials",
    "care_due",
    "catenary",
    "check_support",
    "fold_support",
    "gauge_mm",
    "hang",
    "items_of_bill",
    "items_to_tighten",
    "judge_pull",
    "judge_slack",
    "lay_out_support",
    "layout_as_dict",
    "layout_of",
    "load_in_the_van",
    "load_wires",
    "loaded_tension_n",
    "nearest_gauge",
    "parabola",
    "parabola_sag_m",
    "plant_load",
    "read_support",
    "read_wire_size",
    "report_as_dict",
    "report_as_text",
    "row_faults",
    "row_spacing",
    "sun_hours_between",
    "tension_for_sag_n",
    "tension_from_sag_n",
    "tie_count",
    "tie_life",
    "wind_pressure_pa",
    "wire",
    "wire_loads",
]
